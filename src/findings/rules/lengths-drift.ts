/** Lines and sequences of different lengths, and when they meet again. */

import { followerLength, sequencerRows } from '../../engine/followers.ts';
import { largest, leastCommonMultiple } from '../../modules/dsp/extremes.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { playingsOf, rhythmOf } from '../triggers/beats.ts';
import { listed, placeAtJack } from '../words.ts';

export const lengthsDrift: Rule = {
  name: 'lengths-drift',
  headline: ['patch', 'lengths drift apart'],
  explanation: {
    what: 'Lines or sequences of different lengths run apart and meet again only after some bars.',
    why:
      'A line shorter than its pattern repeats, and a step sequencer goes round by itself, as does each ' +
      'of its rows. Where one length does not divide the other, each time round starts elsewhere. That ' +
      'may be the idea; by mistake, as where a row lacks a step, it sounds right for one bar.',
    sum: 'They meet after as many steps as the least common multiple of the lengths.',
    mend:
      'Leave it if it is meant; otherwise make the lengths divide the pattern or the longest row, or reset ' +
      'the sequencer.',
  },

  find(context: Context): readonly Finding[] {
    const rhythms = context.patch.modules.filter(({ definition }) => definition.role === 'score');
    return [
      ...rhythms.flatMap((module) => ofPatterns(module)),
      ...context.patch.modules.flatMap((module) => {
        // Against its own rows first: where these drift, so do they against the pattern.
        const apart = ofRows(module, context);
        return apart.length > 0 ? apart : ofSequencer(module, context);
      }),
    ];
  },
};

function ofPatterns(module: PatchModule): Finding[] {
  const { patterns, song, channels, 'beats-per-bar': beats } = rhythmSettings(module.settings);
  return patterns.flatMap((pattern, index): Finding[] => {
    const { length, lines, stepsPerQuarter, name } = pattern;
    const odd = lines.filter(
      ({ steps }) => steps.length > 0 && length % steps.length !== 0 && steps.length < length,
    );
    const isPlayed = song.some((entry) => entry.pattern === index && entry.repeats > 0);
    if (odd.length === 0 || !isPlayed) return [];
    const meet = leastCommonMultiple([length, ...odd.map(({ steps }) => steps.length)]);
    const bars = meet / (stepsPerQuarter * beats);
    const names = odd.map(
      ({ channel, steps }) => `${channels[channel]?.name} (${counted(steps.length, 'step')})`,
    );
    return [
      {
        rule: lengthsDrift.name,
        severity: 'note',
        message:
          `in pattern ${name} of ${module.name}, ${listed(names)} and the pattern (${length} steps) ` +
          `meet again only after ${meet} steps, ${counted(Number(bars.toFixed(2)), 'bar')}.`,
        fix: 'Leave it if it is meant; otherwise make the lines as long as the pattern, or a part of it.',
        place: module.settingPlaces.get('patterns') ?? module.place,
        figures: { meetBars: bars, meetSteps: meet, patternSteps: length },
      },
    ];
  });
}

/** Rows of a step sequencer that nothing sends back to their beginnings: a step may have been left out. */
function ofRows(module: PatchModule, { netlist }: Context): Finding[] {
  const { name, settingPlaces, place } = module;
  const all = sequencerRows(module);
  if (all.length === 0) return [];
  const reset = netlist.at({ module: name, jack: 'reset' });
  const meet = leastCommonMultiple(all.map(({ length }) => length));
  // Whoever sets the steps after which all begin again has thought of it.
  const isCut = followerLength(module) !== meet || Number(module.settings.steps) > 0;
  if (isCut || (reset !== undefined && reset.outputs.length > 0)) return [];
  const longest = largest(all.map(({ length }) => length));
  const odd = all.filter(({ length }) => longest % length !== 0);
  if (odd.length === 0) return [];
  const lead = all.find(({ length }) => length === longest);
  return [
    {
      rule: lengthsDrift.name,
      severity: 'note',
      message:
        `in ${name}, ${listed(odd.map((row) => `${row.name} (${counted(row.length, 'step')})`))} and ${lead?.name} ` +
        `(${counted(longest, 'step')}) come together again only after ${meet} steps.`,
      fix:
        `Leave it if it is meant; otherwise make each row as long as the longest, or a part of it` +
        (Object.hasOwn(module.settings, 'steps')
          ? `, or set steps: ${longest}, after which all begin again.`
          : '.'),
      place: all.map(({ setting }) => settingPlaces.get(setting)).find(Boolean) ?? place,
      jack: { module: name, jack: 'clock' },
      figures: { meetSteps: meet, sequenceSteps: longest },
    },
  ];
}

/** A step sequencer that nothing resets, and the pattern that it plays along with. */
function ofSequencer(module: PatchModule, { patch, netlist, triggers }: Context): Finding[] {
  if (sequencerRows(module).length === 0) return [];
  const reset = netlist.at({ module: module.name, jack: 'reset' });
  const jack = { module: module.name, jack: 'clock' };
  const train = triggers.at(jack);
  if (train === undefined || (reset !== undefined && reset.outputs.length > 0)) return [];
  const rhythm = rhythmOf(train.net, netlist, patch);
  const [only, ...others] = rhythm === undefined ? [] : rhythmSettings(rhythm.settings).patterns;
  // With several patterns there is no one length to meet.
  if (rhythm === undefined || only === undefined || others.length > 0) return [];
  const [playing] = playingsOf(rhythm, train.span.seconds);
  if (playing === undefined || playing.end > train.span.seconds + 1e-9) return [];
  const length = followerLength(module) as number;
  const { count, per } = playing.groove.clock;
  const [output] = train.net.outputs;
  if (output?.module !== rhythm || output.jack.name !== 'clock') return [];
  const quarters = only.length / only.stepsPerQuarter;
  const clocks = per === 'step' ? count * only.length : count * quarters;
  if (!Number.isInteger(clocks) || clocks % length === 0 || length % clocks === 0) return [];
  const meet = leastCommonMultiple([clocks, length]) / clocks;
  const bars = (meet * quarters) / rhythmSettings(rhythm.settings)['beats-per-bar'];
  return [
    {
      rule: lengthsDrift.name,
      severity: 'note',
      message:
        `${module.name} (${counted(length, 'step')}) and pattern ${only.name} of ${rhythm.name} (${counted(clocks, 'clock')}) ` +
        `meet again only after ${counted(Number(bars.toFixed(2)), 'bar')}.`,
      fix: `Leave it if it is meant; otherwise give ${module.name} a number of steps that divides ${clocks}, or a reset.`,
      place: module.settingPlaces.get('steps') ?? placeAtJack(train.net, jack, patch),
      jack,
      figures: {
        meetBars: bars,
        meetSteps: leastCommonMultiple([clocks, length]),
        sequenceSteps: length,
      },
    },
  ];
}
