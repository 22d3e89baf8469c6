/** Flams and ratchets whose strokes come closer together than what they play can follow. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { widestFlam } from '../../patch/score/line.ts';
import { CLOCK_IN, isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { adviceApart, keptApart } from '../mend/apart.ts';
import { gateCause } from '../mend/rhythm-gate.ts';
import { byNet, inPlace, inputsOf, inTime, jacksOfTrains, share, within } from '../spoken.ts';
import { foundOrPerhaps, perhaps } from '../triggers/at-worst.ts';
import { envelopeHits } from '../triggers/course.ts';
import type { MatchedStroke } from '../triggers/strokes.ts';
import { stepOf } from '../triggers/swing-apart.ts';
import type { Train } from '../triggers/triggers.ts';
import { actsOnRise } from '../triggers/triggers.ts';
import { atWorst, distinct, drivers, placeAtJack } from '../words.ts';

export const flamTooTight: Rule = {
  name: 'flam-too-tight',
  headline: ['module', 'takes two strokes for one'],
  explanation: {
    what: 'The strokes of a flam or a ratchet are closer together than the chain can follow.',
    why:
      'The grace stroke’s gate must end before the main stroke’s can rise; otherwise they are one long ' +
      'gate and one stroke is heard. And an envelope whose attack takes longer than the gap is ' +
      'still rising when the main stroke comes: it rises once.',
    sum:
      'The gap must be longer than the gate, and longer than the attack. A ratchet of n strokes has ' +
      'gaps of its step / n.',
    mend: 'Widen the flam, but not to a step, or shorten the gate and the attack; a gate in percent follows the strokes.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, netlist, triggers } = context;
    const trains = triggers.all().filter(actsOnRise);
    const isMerging = ({ strokes }: Train): boolean => strokes?.some(isLost) === true;
    const told =
      (may: boolean) =>
      (group: readonly [Train, ...Train[]]): Finding => {
        const [{ terminal, net, strokes = [], pulses, span }] = group;
        const tight = strokes.filter(({ tight }) => tight);
        const lost = strokes.filter(isLost);
        const [first] = lost as [MatchedStroke, ...MatchedStroke[]];
        const gap =
          lost.reduce((least, { since }) => Math.min(least, since), USUAL_RATE) / USUAL_RATE;
        const jack = { module: terminal.module.name, jack: terminal.jack.name };
        const longest = pulses.reduce((most, { start, end }) => Math.max(most, end - start), 0);
        return {
          rule: flamTooTight.name,
          severity: 'caution',
          message:
            `${drivers(net)} ${may ? 'may still be' : 'is still'} high ${inTime(gap)} after the stroke before at ` +
            `${share(lost.length, tight.length, 'close stroke')}${within(span)} (first in ${inPlace(first)}): ` +
            `${inputsOf(group)} ${group.length > 1 ? 'hear' : 'hears'} one stroke instead of two${may ? `, ${atWorst(context.tolerance)}` : ''}.`,
          fix: adviceApart(group[0], wantedAt(gap), context, 'set the strokes wider apart'),
          place: placeAtJack(net, jack, patch),
          jack,
          jacks: jacksOfTrains(group),
          cause: gateCause(net, { netlist }),
          figures: {
            gapSeconds: gap,
            missedHits: lost.length,
            closeHits: tight.length,
            longestSeconds: Math.min(longest / USUAL_RATE, span.seconds),
            lookedSeconds: span.seconds,
          },
        };
      };
    return [
      ...patch.modules.flatMap((module) => widerThanStep(module, context)),
      ...byNet(trains.filter(isMerging)).map(told(false)),
      ...byNet(perhaps(trains, isMerging, 'long', context)).map(told(true)),
      ...trains.flatMap(({ terminal: { module, jack } }) => {
        if (module.definition.course === undefined || jack.name !== 'trigger') return [];
        const input = { module: module.name, jack: jack.name };
        return foundOrPerhaps(input, context, (here) => {
          const train = here.triggers.at(input);
          return train === undefined ? [] : stillRising(train, here);
        });
      }),
    ];
  },

  mend({ jack, figures }, context) {
    const train = jack && context.triggers.at(jack);
    if (train === undefined || figures.attackSeconds !== undefined) return undefined;
    if (figures.stepSeconds !== undefined) return undefined;
    return keptApart(train, wantedAt(Number(figures.gapSeconds)), context);
  },
};

/** @param gap s. */
function wantedAt(gap: number): Parameters<typeof keptApart>[1] {
  return { spacing: gap, share: 0.75, counts: ({ tight }) => tight };
}

function isLost({ merged, tight }: MatchedStroke): boolean {
  return merged && tight;
}

/** A rhythm that follows pulses so quick that its flams do not fit into a step. */
function widerThanStep(module: PatchModule, { patch, triggers }: Context): Finding[] {
  if (!isFollowing(patch, module)) return [];
  const jack = { module: module.name, jack: CLOCK_IN };
  const train = triggers.at(jack);
  if (train === undefined) return [];
  const { song, patterns, flam: own } = rhythmSettings(module.settings);
  const wide = song.flatMap((entry) => {
    const pattern = patterns[entry.pattern];
    const step = stepOf(module, train, entry.pattern);
    if (pattern === undefined || step === undefined) return [];
    const flam = entry.flam ?? pattern.flam ?? own;
    const longest = largest([0, ...pattern.lines.map((line) => widestFlam(line, flam))]);
    const seconds = step / USUAL_RATE;
    return longest < seconds ? [] : [{ longest, seconds, name: pattern.name }];
  });
  const [worst] = wide.toSorted((a, b) => a.seconds - b.seconds);
  if (worst === undefined) return [];
  const [flam, step] = distinct(worst.longest, worst.seconds, inTime);
  return [
    {
      rule: flamTooTight.name,
      severity: 'caution',
      message:
        `A flam of ${flam} of ${module.name} in pattern ${worst.name} does not fit into a step of ${step}, ` +
        `as the pulses of ${drivers(train.net)} come${within(train.span)}: its two strokes cannot come as they are set.`,
      fix: `Narrow the flam to less than ${step}, or let slower pulses into ${CLOCK_IN} of ${module.name}.`,
      place: module.settingPlaces.get('flam') ?? placeAtJack(train.net, jack, patch),
      jack,
      figures: {
        flamSeconds: worst.longest,
        stepSeconds: worst.seconds,
        lookedSeconds: train.span.seconds,
      },
    },
  ];
}

/** An envelope in trigger mode that has not peaked when the next close stroke comes. */
function stillRising(train: Train, { patch }: Context): Finding[] {
  const { terminal, net, noticed, pulses, needed, strokes = [], span } = train;
  const { module } = terminal;
  const shape = module.definition.course?.(module.settings);
  if (shape === undefined || shape.gated) return [];
  const hits = new Map(envelopeHits(shape, noticed).map((hit) => [hit.sample - needed + 1, hit]));
  const close = strokes.filter(({ tight, pulse }) => tight && pulse !== undefined);
  const caught = close.filter(({ pulse = 0 }) => {
    const hit = hits.get(pulses[pulse - 1]?.start ?? -1);
    return hit !== undefined && !hit.peaks;
  });
  const [first] = caught;
  if (first === undefined) return [];
  const jack = { module: module.name, jack: 'trigger' };
  const gap = caught.reduce((least, { since }) => Math.min(least, since), USUAL_RATE) / USUAL_RATE;
  const [attack, later] = distinct(shape.attack, gap, inTime);
  return [
    {
      rule: flamTooTight.name,
      severity: 'caution',
      message:
        `${module.name} is still in its attack of ${attack} when the next stroke comes ` +
        `${later} later, at ${share(caught.length, close.length, 'close stroke')}${within(span)} ` +
        `(first in ${inPlace(first)}): it rises once instead of twice.`,
      fix: `Shorten the attack of ${module.name} to less than ${later}, or set the strokes wider apart.`,
      place: module.settingPlaces.get('attack') ?? placeAtJack(net, jack, patch),
      jack,
      figures: {
        gapSeconds: gap,
        attackSeconds: shape.attack,
        missedHits: caught.length,
        closeHits: close.length,
        lookedSeconds: span.seconds,
      },
    },
  ];
}
