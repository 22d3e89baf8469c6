/** A reset and a clock so close together that which of them counts is luck. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { formatValue } from '../../patch/units.ts';
import { isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { FINE_RATE, FINEST_PLAYED } from '../fine-rate.ts';
import { inTime, within } from '../spoken.ts';
import { playingsOf, rhythmOf } from '../triggers/beats.ts';
import { type ClockInputs, clockInputs } from '../triggers/clock-inputs.ts';
import { contextAt, type Off, wiresBehind } from '../triggers/corners.ts';
import { lastBy } from '../triggers/pulses.ts';
import type { Train, Triggers } from '../triggers/triggers.ts';
import {
  cableInto,
  capitalised,
  distinct,
  drivers,
  freshName,
  localName,
  atWorst as offBySoMuch,
  placeAtJack,
  wire,
} from '../words.ts';

export const resetRace: Rule = {
  name: 'reset-race',
  headline: ['module', 'is reset too close to a clock'],
  explanation: {
    what: 'A reset and a clock arrive within the time in which the follower settles.',
    why:
      'With an armed reset the clock after it lands on step 1. If both come at once, as from a start ' +
      'pulse and the first clock, one follower takes the reset first and lands on step 1, another ' +
      'takes the clock first and is armed for the next one: a step late for the whole song.',
    sum:
      'The time between the two, each when its input notices it, against the follower’s settle time; exact where ' +
      `it is known without playing, otherwise as played at ${FINEST_PLAYED / 1000} kHz.`,
    mend: 'Let the reset come on another step, where no clock comes: armed, it waits for the next clock. A step sequencer also starts armed, and needs no reset at the start. Otherwise delay the clock by some milliseconds.',
  },

  find(context: Context): readonly Finding[] {
    const { patch, triggers } = context;
    return patch.modules.flatMap((module): Finding[] => {
      const { settle } = module.settings;
      const inputs = clockInputs(patch, module);
      if (inputs === undefined || typeof settle !== 'number' || settle <= 0) return [];
      const jack = inputs.reset;
      const reset = triggers.at(jack);
      const clock = triggers.at(inputs.clock);
      if (reset === undefined || clock === undefined) return [];
      const own = { reset: jack, clock: inputs.clock };
      const sure = racesOf([context], own, settle);
      const gaps = sure.length > 0 ? sure : racesOf(atWorst(own, context), own, settle);
      if (gaps.length === 0) return [];
      const closest = smallest(gaps);
      const [gap, wanted] = distinct(closest, settle, inTime);
      const span = reset.span.seconds < clock.span.seconds ? reset.span : clock.span;
      return [
        {
          rule: resetRace.name,
          severity: 'caution',
          message:
            `${drivers(reset.net)} resets ${module.name} ${closest === 0 ? 'with a clock' : `${gap} from a clock`} of ` +
            `${drivers(clock.net)}, at ${gaps.length} of ${counted(reset.noticed.length, 'reset')}${within(span)}; it wants ${wanted} ` +
            `between them, and which step it lands on is luck${sure.length > 0 ? '' : `, ${offBySoMuch(context.tolerance)}`}.`,
          fix: cureFor(module, reset, clock, gaps.length, context),
          place: placeAtJack(reset.net, jack, patch),
          jack,
          cause: `${wire(reset.net)} ${wire(clock.net)} ${inputs.isArmed}`,
          figures: {
            gapSeconds: closest,
            settleSeconds: settle,
            racingResets: gaps.length,
            resets: reset.noticed.length,
            lookedSeconds: span.seconds,
          },
        },
      ];
    });
  },

  mend({ jack, figures }, { patch, netlist }): readonly Edit[] | undefined {
    const module = patch.modules.find(({ name }) => name === jack?.module);
    const inputs = module && clockInputs(patch, module);
    if (module === undefined || inputs === undefined) return undefined;
    // An armed reset is to come before its clock, one that acts at once after it.
    const late = inputs.isArmed ? inputs.clock : inputs.reset;
    const net = netlist.at(late);
    const cable = net && cableInto(net, late);
    if (cable === undefined) return undefined;
    const name = freshName(`${localName(module.name)}-late`, patch);
    const time = formatValue(delayFor(Number(figures.settleSeconds)), 'time');
    return [
      {
        type: 'add-module',
        file: cable.place.file,
        name,
        text: `{ kind: delay, time: ${time}, length: 5 ms }`,
      },
      {
        type: 'replace-cable',
        place: cable.place,
        texts: [`{from} -> ${name}.trigger`, `${name}.out -> {to}`],
      },
    ];
  },
};

/**
 * What to do about it, what costs nothing first: a follower starts armed and needs no reset with its
 * first clock; a channel can give the reset a step or two earlier, where no clock comes.
 */
function cureFor(
  module: PatchModule,
  reset: Train,
  clock: Train,
  racing: number,
  context: Context,
): string {
  const late = inTime(delayFor(module.settings.settle as number));
  const { isArmed, ...inputs } = clockInputs(context.patch, module) as ClockInputs;
  const [resetJack, clockJack] = [jackName(inputs.reset), jackName(inputs.clock)];
  if (!isArmed) return `Put a delay of ${late} in front of ${resetJack}.`;
  const delay = `put a delay of ${late} in front of ${clockJack}, so that the reset comes first`;
  const [only] = reset.noticed;
  const first = clock.noticed[0];
  if (reset.noticed.length === racing && racing === 1 && only && first && only.start <= first.start)
    return `Take the cable out of ${resetJack}: it starts armed, so that its first clock lands on step 1 without. Otherwise ${delay}.`;
  const steps = stepsEarlier(module, reset, clock, context);
  const free =
    steps === undefined
      ? undefined
      : `Let ${drivers(reset.net)} give the reset ${counted(steps, 'step')} earlier, where no clock comes: the next clock lands on step 1 all the same`;
  return free === undefined ? `${capitalised(delay)}.` : `${free}. Otherwise ${delay}.`;
}

/** Steps that are looked at. */
const MOST_STEPS = 4;

/**
 * How many steps earlier each reset of a rhythm's channel keeps clear of all clocks, and is still the last
 * thing before the clock that it raced with.
 * @returns undefined if no number up to four does, or the reset comes from elsewhere.
 */
function stepsEarlier(
  { settings }: PatchModule,
  reset: Train,
  clock: Train,
  { netlist, patch }: Context,
): number | undefined {
  const [output, ...others] = reset.net.outputs;
  const rhythm = output?.module;
  if (rhythm?.definition.role !== 'score' || others.length > 0) return undefined;
  // Only playing tells where its steps are.
  if (isFollowing(patch, rhythm)) return undefined;
  const { channels } = rhythmSettings(rhythm.settings);
  if (!channels.some(({ name }) => name === output?.jack.name)) return undefined;
  if (rhythmOf(clock.net, netlist, patch) !== rhythm) return undefined;
  const playings = playingsOf(rhythm, reset.span.seconds);
  const limit = (settings.settle as number) * USUAL_RATE;
  for (let steps = 1; steps <= MOST_STEPS; steps++) {
    const isClear = reset.noticed.every(({ start }) => {
      const playing = playings[lastBy(playings, (one) => one.start * USUAL_RATE, start + 1)];
      if (playing === undefined) return false;
      const moved = start - steps * playing.step * USUAL_RATE;
      // The latest clock before those that it raced with.
      const before = clock.noticed[lastBy(clock.noticed, (one) => one.start, start - limit)];
      return before === undefined || before.start < moved - limit;
    });
    if (isClear) return steps;
  }
  return undefined;
}

/** The two inputs that race. */
interface Racing {
  readonly reset: JackRef;
  readonly clock: JackRef;
}

/** What arrives at both, at one corner. */
interface Arrivals {
  readonly reset: Train;
  readonly clock: Train;
}

/** Samples at the usual rate by which the time between two edges may be off: each lies within one of its own. */
const COARSE = 2;

/**
 * s from each reset that races to the clock that it races with. Finer times are looked at only where the usual ones
 * show something near.
 * @param corners at which what arrives may be, the first as it should be; between two it may be anything.
 */
function racesOf(corners: readonly Context[], racing: Racing, settle: number): readonly number[] {
  const arrivals = (of: (corner: Context) => Triggers): readonly Arrivals[] =>
    corners.flatMap((corner) => {
      const [reset, clock] = [of(corner).at(racing.reset), of(corner).at(racing.clock)];
      return reset === undefined || clock === undefined ? [] : [{ reset, clock }];
    });
  const usual = arrivals(({ triggers }) => triggers);
  const coarse = gapsOf(usual).map((gap) => gap / USUAL_RATE);
  if (!coarse.some((gap) => gap < settle + COARSE / USUAL_RATE)) return [];
  const finer = arrivals((corner) => corner.fineTriggers());
  const fine = gapsOf(finer).map((gap) => gap / FINE_RATE);
  // A render may have heard more of the song than is played again.
  const isPart = (finer[0]?.reset.span.seconds ?? 0) < (usual[0]?.reset.span.seconds ?? 0);
  const gaps = isPart ? [...fine, ...coarse.slice(fine.length)] : fine;
  return gaps.filter((gap) => gap < settle - SAME);
}

/** s; less than times that are equal come out apart by. */
const SAME = 1e-9;

/** Samples from each reset to the clock that is nearest to it. */
function gapsOf(corners: readonly Arrivals[]): readonly number[] {
  const [first] = corners;
  if (first === undefined) return [];
  return first.reset.noticed.map(({ start }, index) => {
    const before = lastBy(first.clock.noticed, (one) => one.start, start);
    const gaps = [before - 1, before, before + 1, before + 2].map((near) => {
      const all = corners.flatMap(({ reset, clock }) => {
        const [from, to] = [clock.noticed[near], reset.noticed[index]];
        return from === undefined || to === undefined ? [] : [to.start - from.start];
      });
      return Math.max(0, smallest(all), -largest(all));
    });
    return smallest(gaps);
  });
}

/** A reset as early as may be with clocks as late, and the other way round; what comes of one source, either way. */
function atWorst({ reset, clock }: Racing, context: Context): readonly Context[] {
  const [behindReset, behindClock] = [reset, clock].map((jack) => wiresBehind(jack, context)) as [
    ReturnType<typeof wiresBehind>,
    ReturnType<typeof wiresBehind>,
  ];
  if (behindReset.size + behindClock.size === 0) return [];
  const ways = [EARLY, LATE].flatMap((first) => [EARLY, LATE].map((shared) => ({ first, shared })));
  const corners = ways.map(({ first, shared }) => {
    const offs = [...behindReset].map(
      ([net, turns]) => [net, behindClock.has(net) ? shared : turned(first, turns)] as const,
    );
    const second = first === EARLY ? LATE : EARLY;
    const others = [...behindClock].flatMap(([net, turns]) =>
      behindReset.has(net) ? [] : [[net, turned(second, turns)] as const],
    );
    return contextAt(new Map([...offs, ...others]), shared, context);
  });
  return [context, ...corners];
}

const EARLY: Off = { way: 'long', rise: -1 };
const LATE: Off = { way: 'short', rise: 1 };

/** An inverted gate rises where its input falls, which is late where pulses are long. */
function turned(off: Off, turns: ReadonlySet<boolean>): Off {
  if (!turns.has(true) || turns.has(false)) return off;
  return { ...off, way: off.way === 'short' ? 'long' : 'short' };
}

/** s; twice what it needs, 2 ms at least, which nobody hears. */
function delayFor(settle: number): number {
  return Math.max(0.002, 2 * settle);
}
