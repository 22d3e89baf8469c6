/** Ghost strokes at which the accent shuts the amplifier that their voice goes through. */

import type { Net } from '../../electrical/nets.ts';
import { Prepared } from '../../engine/prepared.ts';
import { stemsOf } from '../../engine/stems.ts';
import { dbOfGain, gainOfDb } from '../../modules/dsp/math.ts';
import type { Pattern, Step } from '../../modules/score.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { type DrivenAmplifier, drivenOpenings, gainAt } from '../amplifiers.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { upstream } from '../plan/hits.ts';
import { Listener, rehearse } from '../rehearsal.ts';
import { foundOrAt } from '../triggers/at-worst.ts';
import { cornersOfVolts } from '../triggers/sound-corners.ts';
import { drivers, inVolts, placeAtJack } from '../words.ts';
import { stepsThat } from './accent-unheard.ts';

/** dB under a plain stroke; what is softer is not heard. Source: common practice, no source. */
const SILENT = -40;

export const ghostSilent: Rule = {
  name: 'ghost-silent',
  headline: ['module', 'is shut at ghost strokes'],
  explanation: {
    what: 'A pattern has ghost strokes, and the accent output shuts the amplifier that it is led to: they are not heard.',
    why:
      'At a ghost stroke an accent output gives volts below those of a plain stroke, under 0 V unless it is set ' +
      'otherwise. What is in front of the amplifier adds volts of its own; where these are too low, the sum is at ' +
      'or under 0 V, where an amplifier is shut.',
    sum: `Played by the engine, a ghost stroke and a plain one by themselves: told where the ghost is ${-SILENT} dB softer or more.`,
    mend: 'Raise ghost-level of the rhythm, add a higher offset in front of the amplifier, or lead less of the accent to it.',
  },

  find(context: Context): readonly Finding[] {
    // Most patches have none, and to follow every amplifier's volts back is long.
    if (!context.patch.modules.some(hasGhosts)) return [];
    return drivenOpenings(context).flatMap(({ control }) =>
      foundOrAt(
        context,
        () =>
          (['wide', 'narrow'] as const).flatMap((way) => cornersOfVolts([control], way, context)),
        (here) => silentAt(control, here),
      ),
    );
  },
};

function hasGhosts({ definition, settings }: PatchModule): boolean {
  if (definition.role !== 'score') return false;
  const { patterns } = rhythmSettings(settings);
  return patterns.some(({ lines }) =>
    lines.some(({ steps }) => steps.some(({ ghost }) => ghost === true)),
  );
}

function silentAt(of: JackRef, context: Context): readonly Finding[] {
  return drivenOpenings(context, of.module).flatMap((driven) => {
    const { gain } = gainAt(driven.module, driven.levels.low);
    if (gain > gainOfDb(SILENT)) return [];
    return accentsBehind(driven.net, context).flatMap(({ module, channel }): Finding[] => {
      const step = firstGhost(module, channel);
      if (step === undefined) return [];
      const soft = peakWith(step, true, driven, context);
      const plain = peakWith(step, false, driven, context);
      if (plain === 0 || soft > plain * gainOfDb(SILENT)) return [];
      return [told(driven, step, soft / plain, context)];
    });
  });
}

/** A channel of a rhythm. */
interface RhythmChannel {
  readonly module: PatchModule;
  readonly channel: number;
}

/** The channels whose accents set the volts on a net, through what only scales and mixes them. */
function accentsBehind(start: Net, { netlist }: Context): readonly RhythmChannel[] {
  const found: RhythmChannel[] = [];
  const seen = new Set<Net>();
  const left = [start];
  for (let net = left.pop(); net !== undefined; net = left.pop()) {
    if (seen.has(net)) continue;
    seen.add(net);
    for (const { module, jack } of net.outputs) {
      if (module.definition.role === 'score') {
        const { channels } = rhythmSettings(module.settings);
        const channel = channels.findIndex(({ name }) => `${name}-accent` === jack.name);
        if (channel >= 0) found.push({ module, channel });
        continue;
      }
      const inputs = module.jacks.flatMap((one) => (one.direction === 'in' ? [one] : []));
      if (inputs.some(({ facts }) => facts.trigger !== undefined)) continue;
      for (const { name } of inputs) {
        const before = netlist.at({ module: module.name, jack: name });
        if (before !== undefined) left.push(before);
      }
    }
  }
  return found;
}

/** A ghost stroke, as a pattern that is played has it. */
interface Ghost extends RhythmChannel {
  readonly pattern: Pattern;
  readonly line: Pattern['lines'][number];
  readonly step: Step;
}

function firstGhost(module: PatchModule, channel: number): Ghost | undefined {
  const { patterns, song } = rhythmSettings(module.settings);
  for (const { pattern: index } of song) {
    const pattern = patterns[index] as Pattern;
    for (const line of pattern.lines) {
      const step = line.steps.find(({ ghost }) => ghost === true);
      if (line.channel === channel && step !== undefined)
        return { module, channel, pattern, line, step };
    }
  }
  return undefined;
}

/** The highest sample of the voices behind an amplifier, when a stroke is played by itself. */
function peakWith(
  { module, pattern, line, step }: Ghost,
  isGhost: boolean,
  driven: DrivenAmplifier,
  { patch, netlist }: Context,
): number {
  const { ghost: _, ...plain } = step;
  const alone: Step = { ...plain, ...(isGhost && { ghost: true }), flam: false, maybe: false };
  const { stepsPerQuarter } = pattern;
  const rest: Step = { strokes: 0, accent: false, flam: false, maybe: false };
  const steps = Array.from({ length: stepsPerQuarter }, (_, i) => (i === 0 ? alone : rest));
  const played: Pattern = { ...pattern, length: stepsPerQuarter, lines: [{ ...line, steps }] };
  const settings = {
    ...module.settings,
    patterns: [played],
    song: [{ pattern: 0, repeats: 1 }],
    'count-in': 0,
  };
  const modules = patch.modules.map((one) =>
    one.name === module.name ? { ...one, settings } : one,
  );
  const of = new Prepared({ ...patch, modules } as Patch);
  const voices = stemsOf(of).filter(({ jack }) =>
    [...upstream(jack.module, netlist)].some(({ name }) => name === driven.module.name),
  );
  const heard = rehearse(of, new Listener({ pulses: [], volts: [], voices, fullScale: 1 }));
  return heard?.voices.reduce((most, { peak }) => Math.max(most, peak), 0) ?? 0;
}

function told(
  { module: amplifier, control, net, levels }: DrivenAmplifier,
  { module, channel }: Ghost,
  gain: number,
  context: Context,
): Finding {
  const { channels, 'ghost-level': volts } = rhythmSettings(module.settings);
  const { name } = channels[channel] as { name: string };
  const ghosts = stepsThat(module, channel, ({ ghost }) => ghost === true);
  const jack: JackRef = { module: module.name, jack: `${name}-accent` };
  const [one, are] = ghosts === 1 ? ['it', 'is'] : ['they', 'are'];
  const softer =
    gain === 0
      ? `${are} not heard at all`
      : `${are} ${Math.round(-dbOfGain(gain))} dB softer than a plain stroke, which nobody hears`;
  return {
    rule: ghostSilent.name,
    severity: 'caution',
    message:
      `at ${counted(ghosts, 'ghost stroke')} of ${module.name}.${name}, ${jackName(jack)} gives ${inVolts(volts)}, ` +
      `and ${amplifier.name} gets ${inVolts(levels.low)} from ${drivers(net)}, which shuts it: ${one} ${softer}.`,
    fix: cureFor(module, net, jack, context),
    place: placeAtJack(net, control, context.patch),
    jack: control,
    figures: {
      ghosts,
      ghostVolts: volts,
      controlVolts: levels.low,
      gainDb: gain === 0 ? 'silent' : dbOfGain(gain),
    },
  };
}

function cureFor(module: PatchModule, net: Net, accent: JackRef, { netlist }: Context): string {
  const [output, ...others] = net.outputs;
  const before = output?.module;
  const passing = before?.definition
    .passes?.(before.settings, () => true)
    .find((one) => one.output === output?.jack.name);
  const [term, ...more] = passing?.terms ?? [];
  const isNext =
    before !== undefined &&
    term !== undefined &&
    netlist.at({ module: before.name, jack: term.input }) === netlist.at(accent);
  const [level, offset] = [term?.gain ?? 0, passing?.offset ?? 0];
  if (!isNext || others.length > 0 || more.length > 0 || !(offset > 0) || !(level > 0))
    return `Raise ghost-level of ${module.name}, or the volts that are added in front of the amplifier.`;
  // Half of what a plain stroke gets, to a tenth of a volt.
  const volts = Math.ceil((-10 * offset) / (2 * level)) / 10;
  return `Set ghost-level of ${module.name} to ${inVolts(volts)}, which gives half the volts of a plain stroke, or raise what ${before.name} adds.`;
}
