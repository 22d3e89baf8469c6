/** A follower that does not get the clock that it expects. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { median } from '../../measure/median.ts';
import type { Rate } from '../../modules/definition.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import type { GatePulse } from '../../modules/gates.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { formatValue } from '../../patch/units.ts';
import { CLOCK_IN, isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { onDial, setTo } from '../mend/set-to.ts';
import { inTime, within } from '../spoken.ts';
import { type PatternPlaying, playingsOf, rhythmOf } from '../triggers/beats.ts';
import { clockInputs } from '../triggers/clock-inputs.ts';
import { asSet, type StalledRhythm, stalledRhythm } from '../triggers/standing.ts';
import type { Train } from '../triggers/triggers.ts';
import { distinct, drivers, inVolts, listed, placeAtJack, wire } from '../words.ts';

export const clockMismatch: Rule = {
  name: 'clock-mismatch',
  headline: ['module', 'does not get the clock that it expects'],
  explanation: {
    what: 'A follower gets more or fewer clocks than its expects: says, or a rhythm sequencer than its follows: and tempo say.',
    why:
      'A step sequencer knows no tempo: it goes a step on with each clock. Sixteenths need four ' +
      'clocks a quarter; a clock meant for another follower, or divided once too often, makes it run ' +
      'at half or double time. A rhythm that follows pulses of something else than a rhythm plays at the ' +
      'tempo that they make, but the length of its song is counted at the tempo that it is set to.',
    sum: 'Clocks noticed over the song against rate x quarters, or rate x steps, of the same stretch.',
    mend: 'Set the clock of the rhythm module, or put a clock divider in between. Of a rhythm that follows another clock, set follows or tempo.',
  },

  find({ patch, netlist, triggers }: Context): readonly Finding[] {
    return patch.modules.flatMap((module): Finding[] => {
      const inputs = clockInputs(patch, module);
      const jack = inputs?.clock;
      const expects = inputs?.expects;
      const train = expects && jack && triggers.at(jack);
      if (jack === undefined || expects === undefined || train === undefined) return [];
      const standing = isFollowing(patch, module)
        ? stalledRhythm(module, train, patch, netlist)
        : undefined;
      if (standing !== undefined) return ofStanding(module, train, standing, patch);
      const rhythm = rhythmOf(train.net, netlist, patch, module);
      if (rhythm === undefined) return ofTempo(module, train, patch);
      const [off] = isFollowing(patch, rhythm)
        ? comparedByPulses(
            train,
            expects,
            rhythm,
            triggers.at({ module: rhythm.name, jack: CLOCK_IN }),
          )
        : compared(train, expects, playingsOf(rhythm, train.span.seconds));
      if (off === undefined) return [];
      const { got, wanted, steps } = off;
      const per = expects.per;
      const [gets] = distinct(got, wanted, rounded);
      const [due] = distinct(steps, off.clocks, rounded);
      return [
        {
          rule: clockMismatch.name,
          severity: 'fault',
          message:
            `${module.name} expects ${formatValue(expects, 'rate')} and gets ${gets} per ${per} from ` +
            `${drivers(train.net)}${off.pattern === undefined ? '' : ` in pattern ${off.pattern}`}${within(train.span)}: ` +
            `${counted(off.clocks, 'clock')} where ${due} were due.`,
          fix: fixFor(module, train, expects, patch),
          place: placeAtJack(train.net, jack, patch),
          jack,
          cause: `${wire(train.net)} ${expects.count} per ${expects.per}`,
          figures: {
            expectedClocks: wanted,
            arrivingClocks: got,
            per,
            clocks: off.clocks,
            dueClocks: steps,
            lookedSeconds: train.span.seconds,
          },
        },
      ];
    });
  },

  mend({ jack, figures }, { patch, netlist }): readonly Edit[] | undefined {
    // Where it stands, or pulses are doubled, it is not its tempo that is wrong.
    if (figures.pulses !== undefined || figures.shortGapSeconds !== undefined) return undefined;
    const follower = patch.modules.find(({ name }) => name === jack?.module);
    if (follower !== undefined && typeof figures.pulsesPerQuarter === 'number') {
      const follows: Rate = { count: figures.pulsesPerQuarter, per: 'quarter' };
      return setTo(follower, 'follows', follows, patch);
    }
    if (follower !== undefined && typeof figures.playsBpm === 'number')
      return setTo(follower, 'tempo', figures.playsBpm, patch);
    const net = jack && netlist.at(jack);
    const [output] = net?.outputs ?? [];
    const rhythm = output?.module;
    if (
      follower === undefined ||
      rhythm?.definition.role !== 'score' ||
      output?.jack.name !== 'clock'
    )
      return undefined;
    const expects = clockInputs(patch, follower)?.expects;
    if (ownClocks(rhythm) || expects === undefined) return undefined;
    return setTo(rhythm, 'clock', expects, patch);
  },
};

/** A channel that serves as a clock has no rate to set. */
function fixFor(module: PatchModule, { net }: Train, expects: Rate, patch: Patch): string {
  const rate = formatValue(expects, 'rate');
  const isChannel = net.outputs.some(
    ({ module: from, jack }) => from.definition.role === 'score' && !OF_TIME.includes(jack.name),
  );
  if (!isChannel) return `Set the clock to ${rate}, or put a clock divider in between.`;
  const says = isFollowing(patch, module) ? 'follows' : 'expects';
  return (
    `Take the clock output of the rhythm at ${rate}, or write ${drivers(net)} a hit for each pulse; ` +
    `if it is meant to be irregular, set ${says}: of ${module.name} to what a pulse is.`
  );
}

/** Outputs of a rhythm that are no channels. */
const OF_TIME: readonly string[] = ['clock', 'run', 'start'];
/** Pulses a quarter note that clocks give. Source: common practice, no source. */
const USUAL_CLOCKS = [1, 2, 4, 8, 12, 24, 48, 96];
/** Beyond this ratio the tempo is not just set differently: the pulses are not those that `follows` says. */
const OTHER_PULSES = 3;
/** Share by which pulses may be off the tempo that a rhythm is set to: 1 bpm in 100. */
const OFF_TEMPO = 0.01;
/** The same for pulses of which each may be two: one more or less counts. */
const OFF_DOUBLED = 0.03;

/** A rhythm that follows pulses of no rhythm, and the tempo that they make. */
function ofTempo(module: PatchModule, { noticed, net, span }: Train, patch: Patch): Finding[] {
  if (!isFollowing(patch, module)) return [];
  const [first, last] = [noticed[0], noticed.at(-1)];
  if (first === undefined || last === undefined || noticed.length < 3) return [];
  const { follows } = rhythmSettings(module.settings);
  const { set, perQuarter } = asSet(module);
  const rate = ((noticed.length - 1) * USUAL_RATE) / (last.start - first.start);
  const plays = Number(((60 * rate) / perQuarter).toPrecision(4));
  if (Math.abs(plays / set - 1) <= OFF_TEMPO) return [];
  const jack = { module: module.name, jack: CLOCK_IN };
  // What the pulses would be at the tempo that is set.
  const are = Math.round((60 * rate) / set);
  const isWhole =
    USUAL_CLOCKS.includes(are) &&
    Math.abs((60 * rate) / set / are - 1) <= OFF_TEMPO &&
    Math.max(are / perQuarter, perQuarter / are) >= OTHER_PULSES;
  const pairs = Math.abs(plays / 2 / set - 1) <= OFF_DOUBLED ? pairsOf(noticed) : undefined;
  const asked = formatValue({ count: are, per: 'quarter' } satisfies Rate, 'rate');
  return [
    {
      rule: clockMismatch.name,
      severity: pairs === undefined ? 'note' : 'caution',
      message:
        `${module.name} is set to ${formatValue(set, 'tempo')}, and ${drivers(net)} gives it ` +
        `${rounded(rate)} pulses a second${within(span)}: at ${formatValue(follows, 'rate')} it plays at ` +
        `${formatValue(plays, 'tempo')}. The length of its song, or of a number of bars, is counted at ${formatValue(set, 'tempo')}.` +
        (pairs === undefined
          ? ''
          : ` They come in pairs, ${distinct(pairs[0], pairs[1], inTime).join(' and ')} apart in turn, as pulses do that are doubled on their way.`),
      fix:
        pairs !== undefined
          ? `Take out what doubles them, such as an echo, or a second clock on the way to ${drivers(net)}.`
          : isWhole
            ? `Set follows: ${asked}, with which it plays at the tempo that it is set to; or tempo: ${formatValue(plays, 'tempo')}${onDial(module, 'tempo', plays, patch)}, or the rate of the clock.`
            : `Set tempo: ${formatValue(plays, 'tempo')}${onDial(module, 'tempo', plays, patch)}, follows: to what a pulse is meant to be, or the rate of the clock.`,
      place: module.settingPlaces.get('tempo') ?? placeAtJack(net, jack, patch),
      jack,
      figures: {
        setBpm: set,
        playsBpm: plays,
        pulsesPerSecond: rate,
        ...(isWhole && { pulsesPerQuarter: are }),
        ...(pairs && { shortGapSeconds: smallest(pairs), longGapSeconds: largest(pairs) }),
        lookedSeconds: span.seconds,
      },
    },
  ];
}

/** s between pulses and the next, by turns, where these differ by a fifth or more. */
function pairsOf(noticed: readonly GatePulse[]): readonly [number, number] | undefined {
  const gaps = noticed.slice(1).map(({ start }, i) => start - (noticed[i]?.start ?? 0));
  const [one, other] = [0, 1].map((turn) => median(gaps.filter((_, i) => i % 2 === turn)));
  if (one === undefined || other === undefined) return undefined;
  return Math.abs(one - other) > 0.1 * (one + other)
    ? [one / USUAL_RATE, other / USUAL_RATE]
    : undefined;
}

/** A rhythm that nothing, or next to nothing, leads on. */
function ofStanding(
  module: PatchModule,
  { net, span, pulses, terminal }: Train,
  { got, due, ring }: StalledRhythm,
  patch: Patch,
): Finding[] {
  // A ring is told once, at the first of it.
  if (ring.length > 0 && ring[0] !== module) return [];
  const jack = { module: module.name, jack: CLOCK_IN };
  const names = listed(ring.map(({ name }) => name));
  const { set } = asSet(module);
  const rate = formatValue(rhythmSettings(module.settings).follows, 'rate');
  const isHeld = pulses.at(-1)?.end === Number.POSITIVE_INFINITY;
  const off = inVolts(terminal.jack.facts.trigger?.off ?? 0);
  const faster = `urn the rate of what leads to ${drivers(net)} up, or set follows: and tempo: of ${module.name} to what its pulses are.`;
  return [
    {
      rule: clockMismatch.name,
      severity: ring.length > 0 || (got === 0 && span.complete) ? 'fault' : 'caution',
      message:
        ring.length > 0
          ? `${names} ${ring.length > 1 ? 'follow one another in a ring' : 'follows itself'}: nothing gives the first pulse, so ${ring.length > 1 ? 'all of them stand still' : 'it stands still'}.`
          : `${module.name} gets ${got === 0 ? 'no pulse' : counted(got, 'pulse')} from ${drivers(net)}${within(span)}, where ` +
            `${due} are due at ${formatValue(set, 'tempo')}, ${rate}: it stands still.${isHeld ? ` ${CLOCK_IN} then stays on, never under ${off} again.` : ''}`,
      fix:
        ring.length > 0
          ? `Take the plug out of ${ring.length > 1 ? `${CLOCK_IN} of one of them` : `its ${CLOCK_IN}`}, so that it goes by its own tempo, or lead a clock into the ring.`
          : isHeld
            ? `Let ${drivers(net)} fall under ${off} between pulses, where a slew or an offset on the way holds it up. If its pulses are only slow, t${faster}`
            : `T${faster}`,
      place: placeAtJack(net, jack, patch),
      jack,
      jacks: (ring.length > 0 ? ring : [module]).map(({ name }) => ({
        module: name,
        jack: CLOCK_IN,
      })),
      figures: { pulses: got, duePulses: due, lookedSeconds: span.seconds },
    },
  ];
}

/** Clocks from a rhythm that itself follows pulses: the clocks tell how far its song went. */
function comparedByPulses(
  { noticed, span }: Train,
  expects: Rate,
  rhythm: PatchModule,
  before: Train | undefined,
): Mismatch[] {
  const { follows, patterns, song } = rhythmSettings(rhythm.settings);
  const played = [...new Set(song.map(({ pattern }) => patterns[pattern]?.stepsPerQuarter))];
  const [stepsPerQuarter] = played;
  if (before === undefined || stepsPerQuarter === undefined || played.length > 1) return [];
  const end = Math.min(span.seconds, before.span.seconds) * USUAL_RATE;
  const until = (pulses: readonly GatePulse[]) => pulses.filter(({ start }) => start < end).length;
  const quarters =
    until(before.noticed) / (follows.count * (follows.per === 'step' ? stepsPerQuarter : 1));
  const due = expects.count * quarters * (expects.per === 'step' ? stepsPerQuarter : 1);
  const clocks = until(noticed);
  // The last pulse may be in part played.
  const allowed = 1 + due / Math.max(1, until(before.noticed));
  if (Math.abs(clocks - due) <= allowed + 0.5) return [];
  const got = (expects.count * clocks) / due;
  return [{ got, wanted: expects.count, clocks, steps: due, pattern: undefined }];
}

/** Whether a pattern or an entry of the song has a clock of its own. */
function ownClocks({ settings }: PatchModule): boolean {
  const { patterns, song } = rhythmSettings(settings);
  return [...patterns, ...song].some(({ clock }) => clock !== undefined);
}

interface Mismatch {
  /** Clocks per quarter or per step. */
  readonly got: number;
  readonly wanted: number;
  readonly clocks: number;
  /** Clocks that were due. */
  readonly steps: number;
  /** The pattern, where others have the right clock. */
  readonly pattern: string | undefined;
}

/** The patterns in which the clock is not as expected; all of them together where it never is. */
function compared(
  { noticed, span }: Train,
  expects: Rate,
  playings: readonly PatternPlaying[],
): Mismatch[] {
  const byPattern = new Map<string, { clocks: number; due: number; allowed: number }>();
  // A multiplier is silent until it knows its clock: count from where it begins.
  const first = span.heard && noticed[0] !== undefined ? timeOf(noticed[0]) : 0;
  let next = 0;
  let last: string | undefined;
  for (const { groove, start, end, quarter, step } of playings) {
    if (end <= first) continue;
    const { name } = groove.pattern;
    const sum = byPattern.get(name) ?? { clocks: 0, due: 0, allowed: span.heard ? 1 : 0 };
    byPattern.set(name, sum);
    for (; timeOf(noticed[next]) < end; next += 1) sum.clocks += 1;
    const length = end - Math.max(start, first);
    const due = (expects.count * length) / (expects.per === 'quarter' ? quarter : step);
    sum.due += due;
    // Where a pattern begins or ends between two clocks, one more or less is no mistake.
    const isWhole = Math.abs(due - Math.round(due)) < 1e-6;
    if (name !== last && (span.heard || !isWhole)) sum.allowed += 1;
    last = name;
  }
  const all = [...byPattern].map(([pattern, sum]) => ({ pattern, ...sum }));
  const wrong = all.filter(({ clocks, due, allowed }) => Math.abs(clocks - due) > allowed + 0.5);
  const everywhere = wrong.length === all.length;
  return wrong.map(({ pattern, clocks, due }) => ({
    got: (expects.count * clocks) / due,
    wanted: expects.count,
    clocks,
    steps: due,
    pattern: everywhere ? undefined : pattern,
  }));
}

/**
 * s at which a clock was noticed, which is in the pattern that gave it: an edge lies half a sample at
 * most before its exact time, so a sample more makes sure.
 */
function timeOf(pulse: GatePulse | undefined): number {
  return pulse === undefined ? Number.POSITIVE_INFINITY : (pulse.start + 1) / USUAL_RATE;
}

function rounded(value: number, more = 0): string {
  return String(Number(value.toPrecision(3 + more)));
}
