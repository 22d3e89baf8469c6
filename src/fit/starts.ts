/**
 * Where a fit starts: by measures of the recording. A drum that is a fifth higher, or twice as long, has every
 * pitch higher and every time longer, so all settings of one sort are first moved together; and ringing modules are
 * tuned to the recording's own partials, with their falls.
 */

import type { BandFigures } from '../measure/likeness/drum-kind.ts';
import { type Partial, partialsOf } from '../measure/pitch/partials.ts';
import type { Tone } from '../modules/definition.ts';
import type { RecordedHits } from './recording.ts';
import { boundsOf, coordinateOf, isSwitch, type Knob, knobValue, movedBy10 } from './settings.ts';
import type { Tries } from './tries.ts';
import type { TriedSound } from './voice-renders.ts';

/** Shifts in units of the search, of which one is a factor of e. */
const TIMES = [-2.4, -1.6, -0.8, 0.8];
const PITCHES = [-1.4, -0.7, -0.35, 0.35, 0.7, 1.4];
const CUTOFFS = [-1.6, -0.8, -0.4, 0.4, 0.8];
/** A straight fall is half as long as one that slows down and sounds as long. */
const SWITCHED = [0, 0.7, -0.7, 1.1];
/** Where a frequency is looked for, Hz, and the factor from one try to the next. */
const LOWEST = 60;
const HIGHEST = 16_000;
const STEP = 1.75;
/** Half a frame, s: added so that a fall within one frame has a logarithm. */
const SHORTEST = 0.005;
/** Time constants of a stage of an envelope. */
const STAGE = 5;
/** How many partials a single ringing module is tuned to, one after the other. */
const MOST_PARTIALS = 6;
const FALLS = ['down10Seconds', 'down20Seconds', 'down40Seconds'] as const;
const USUAL_FALL = ['down20Seconds'] as const;

/**
 * Moves settings by the measures, and keeps the nearer values.
 * @param isWide whether shifts beside the measured ones are tried too, since no range is searched afterwards.
 * @returns other values with which a search may begin: where one module rings, it may be any partial, though others that
 *   do not fit yet may make a wrong one the nearest.
 */
export async function moveByMeasures(
  tries: Tries,
  knobs: readonly Knob[],
  recording: RecordedHits,
  { isWide, isOver }: { readonly isWide: boolean; readonly isOver: () => boolean },
): Promise<readonly (readonly number[])[]> {
  const { kind, target } = recording;
  const axesOf = (wanted: (knob: Knob) => boolean): readonly number[] =>
    [...knobs.keys()].filter((axis) => wanted(knobs[axis] as Knob));
  const times = axesOf(({ spec }) => spec.type === 'time');
  const pitches = axesOf(isPitch);
  const cutoffs = axesOf((knob) => knob.spec.type === 'frequency' && !isPitch(knob));
  const shifted = async (
    axes: readonly number[],
    told: () => Promise<readonly number[]>,
    wide: readonly number[],
  ): Promise<void> => {
    if (axes.length === 0) return;
    const shifts = [...(await told()), ...(isWide ? wide : [])];
    const { values } = tries.best;
    const all = shifts.map((shift) =>
      values.map((value, axis) =>
        axes.includes(axis) ? moved(knobs[axis] as Knob, value, shift) : value,
      ),
    );
    await tryEach(tries, all, isOver);
  };
  /** By how much the recording's figures are larger than those of the best so far. */
  const measured = async (of: (own: TriedSound) => readonly number[]): Promise<readonly number[]> =>
    of(await tries.soundAt(tries.best.values)).filter(Number.isFinite);
  const higher = (): Promise<readonly number[]> =>
    measured(({ partialHz }) =>
      partialHz === null || target.partialHz === null
        ? []
        : [Math.log(target.partialHz / partialHz)],
    );
  const longer = (): Promise<readonly number[]> =>
    measured(({ figures }) =>
      figures === null
        ? []
        : (isWide ? FALLS : USUAL_FALL).map((fall) => longerBy(kind, figures, fall)),
    );
  const brighter = (): Promise<readonly number[]> =>
    measured(({ figures }) => (figures === null ? [] : [brighterBy(kind, figures)]));
  await shifted(times, longer, TIMES);
  await switched(tries, knobs, isOver);
  await shifted(pitches, higher, PITCHES);
  const tunings = await tuned(tries, knobs, recording, isOver);
  if (!isWide) {
    await shifted(cutoffs, brighter, []);
    return tunings;
  }
  await shifted([...pitches, ...cutoffs], higher, [-0.7, 0.7]);
  await shifted(cutoffs, brighter, CUTOFFS);
  await shifted(pitches, higher, [-0.2, 0.2]);
  await shifted(times, longer, [-0.8, -0.4, 0.4]);
  await bent(tries, knobs, recording, isOver);
  return [];
}

/** Turns each switch, with the fall of its module as it is, and longer and shorter, and keeps the nearer values. */
async function switched(
  tries: Tries,
  knobs: readonly Knob[],
  isOver: () => boolean,
): Promise<void> {
  for (const [axis, knob] of knobs.entries()) {
    if (!isSwitch(knob)) continue;
    const { values } = tries.best;
    const falls = [...knobs.keys()].filter((other) => {
      const { module, setting } = knobs[other] as Knob;
      return module === knob.module && (setting === 'decay' || setting === 'release');
    });
    const all = movedBy10(knob, values[axis] as number).flatMap((position) =>
      SWITCHED.map((shift) =>
        falls.reduce(
          (some, fall) =>
            some.with(fall, moved(knobs[fall] as Knob, values[fall] as number, shift)),
          values.with(axis, position),
        ),
      ),
    );
    await tryEach(tries, all, isOver);
  }
}

/** Falls of two slopes, as measured: the time constants of the amplitude, and where the second takes over. */
interface Bend {
  readonly earlyTau: number;
  readonly lateTau: number;
  readonly knee: number;
}

/** Gives two slopes to each envelope that can have them, and keeps those that are nearer. */
async function bent(
  tries: Tries,
  knobs: readonly Knob[],
  recording: RecordedHits,
  isOver: () => boolean,
): Promise<void> {
  for (const [sustain, { module, setting }] of knobs.entries()) {
    if (setting !== 'sustain') continue;
    const axisOf = (wanted: string): number =>
      knobs.findIndex((knob) => knob.module === module && knob.setting === wanted);
    const [decay, release] = [axisOf('decay'), axisOf('release')];
    if (decay < 0 || release < 0) continue;
    const { values } = tries.best;
    const all = bendsOf(recording).map(({ earlyTau, lateTau, knee }) =>
      values
        .with(decay, within(knobs[decay] as Knob, STAGE * earlyTau))
        .with(sustain, within(knobs[sustain] as Knob, knee))
        .with(release, within(knobs[release] as Knob, STAGE * lateTau)),
    );
    await tryEach(tries, all, isOver);
  }
}

/** The measured slopes, and those that the falls to -10, -20 and -40 dB make likely. */
function bendsOf({ slopes, kind }: RecordedHits): readonly Bend[] {
  const { down10Seconds, down20Seconds, down40Seconds } = kind;
  const tauOf = (seconds: number, db: number): number =>
    Math.max(SHORTEST, seconds) * (20 / Math.LN10 / db);
  const early = tauOf(down10Seconds, 10);
  const late = tauOf(down40Seconds - down20Seconds, 20);
  const guessed = [
    { earlyTau: early, lateTau: late, knee: 0.3 },
    { earlyTau: early, lateTau: late, knee: 0.1 },
    { earlyTau: early, lateTau: 2 * late, knee: 0.03 },
  ];
  return slopes === null ? guessed : [{ ...slopes, knee: 10 ** (slopes.kneeDb / 20) }, ...guessed];
}

/** Searches each frequency over the audible range, one after the other, and keeps the nearer values. */
export async function relocate(
  tries: Tries,
  knobs: readonly Knob[],
  isOver: () => boolean,
): Promise<void> {
  for (const [axis, knob] of knobs.entries()) {
    if (knob.spec.type !== 'frequency') continue;
    const { values } = tries.best;
    const all: (readonly number[])[] = [];
    for (let hz = LOWEST; hz <= HIGHEST; hz *= STEP) all.push(values.with(axis, within(knob, hz)));
    await tryEach(tries, all, isOver);
  }
}

/**
 * Tunes ringing modules to the recording's loudest partials, the lower to the lower, with their falls.
 * @returns all tunings of a single one.
 */
async function tuned(
  tries: Tries,
  knobs: readonly Knob[],
  { sound }: RecordedHits,
  isOver: () => boolean,
): Promise<readonly (readonly number[])[]> {
  const { values } = tries.best;
  const ringing = knobs
    .flatMap((knob, pitch) => {
      const decay = knobs.findIndex(
        (other) => other.module === knob.module && toneOf(other) === 'ringing',
      );
      return isPitch(knob) && decay >= 0 ? [{ pitch, decay }] : [];
    })
    .toSorted((a, b) => (values[a.pitch] as number) - (values[b.pitch] as number));
  if (ringing.length === 0) return [];
  const isAlone = ringing.length === 1;
  const partials = partialsOf(sound, { most: isAlone ? MOST_PARTIALS : ringing.length });
  const on = (axes: readonly (typeof ringing)[number][], to: readonly Partial[]) =>
    axes.reduce((all, { pitch, decay }, index) => {
      const { hz, decay: fall } = to[index] as Partial;
      return all
        .with(pitch, within(knobs[pitch] as Knob, hz))
        .with(decay, within(knobs[decay] as Knob, fall));
    }, values);
  const rising = (some: readonly Partial[]): readonly Partial[] =>
    some.toSorted((a, b) => a.hz - b.hz);
  const all: (readonly number[])[] = [];
  if (isAlone) {
    const each = partials.map((one) => on(ringing, [one]));
    await tryEach(tries, each, isOver);
    return each;
  }
  // The loudest alone, the two loudest, and so on: the remaining ones stay as they are.
  for (let count = partials.length; count > 0; count--) {
    const some = rising(partials.slice(0, count));
    all.push(on(ringing.slice(0, count), some));
    if (count < ringing.length) all.push(on(ringing.slice(-count), some));
  }
  await tryEach(tries, all, isOver);
  return [];
}

/** Tries one after the other. */
async function tryEach(
  tries: Tries,
  all: readonly (readonly number[])[],
  isOver: () => boolean,
): Promise<void> {
  tries.prepare(all);
  for (const values of all) {
    if (isOver()) return;
    await tries.at(values);
  }
}

/** How much longer a recording's hit falls than a voice's, and how much brighter it is, as logarithms of ratios. */
function longerBy(recorded: BandFigures, own: BandFigures, fall: (typeof FALLS)[number]): number {
  return Math.log((recorded[fall] + SHORTEST) / (own[fall] + SHORTEST));
}

function brighterBy(recorded: BandFigures, own: BandFigures): number {
  return Math.log(recorded.centreHz / own.centreHz);
}

/** How a drum differs in size from another of its kind, as logarithms of ratios: all times, and all frequencies. */
export interface SizeRatio {
  readonly times: number;
  readonly frequencies: number;
}

/** How much larger a recording's hit is than a voice's. */
export function sizeRatio(recorded: BandFigures, own: BandFigures): SizeRatio {
  const times = FALLS.reduce((sum, fall) => sum + longerBy(recorded, own, fall), 0) / FALLS.length;
  return { times, frequencies: brighterBy(recorded, own) };
}

/** The values of settings in a voice of another size. */
export function valuesAt(
  knobs: readonly Knob[],
  { times, frequencies }: SizeRatio,
): readonly number[] {
  return knobs.map((knob) => {
    const { type } = knob.spec;
    const shift = type === 'time' ? times : type === 'frequency' ? frequencies : 0;
    return shift === 0 ? knob.before : moved(knob, knob.before, shift);
  });
}

function isPitch(knob: Knob): boolean {
  return toneOf(knob) === 'pitch';
}

function toneOf({ spec }: Knob): Tone['as'] | undefined {
  return spec.type === 'choice' ? undefined : spec.tone?.as;
}

function moved(knob: Knob, value: number, shift: number): number {
  const { low, high } = boundsOf(knob);
  return knobValue(knob, Math.min(high, Math.max(low, coordinateOf(knob, value) + shift)));
}

function within(knob: Knob, value: number): number {
  return knobValue(knob, coordinateOf(knob, value));
}
