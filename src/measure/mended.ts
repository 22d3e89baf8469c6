/**
 * A recording with its drift and its hum removed, so that its hits can be measured as if it had neither.
 *
 * Both are measured in stretches, each overlapping the one before by half. Drift is the course of the level
 * that they rest at (`baseline.ts`); what is left of it can look like a soft stroke, above all at the start. Hum is a sine at each multiple of the mains: the Fourier coefficient of a stretch
 * under a Hann window gives its amplitude and phase, of which the medians are taken over the stretches nearby without a
 * hit, so that a hit does not count. How far the mains are off their 50 or 60 Hz follows from how the phase moves on
 * from one such stretch to the next (common practice, no source). A sine is removed only where it is steady: a sine
 * that changes belongs to the sound.
 */

import { largest, smallest } from '../modules/dsp/extremes.ts';
import { baselineOf, powerAbout, type Rest } from './baseline.ts';
import { type Condition, driftShows } from './condition.ts';
import { median } from './median.ts';
import type { SampleBlock } from './samples.ts';
import { steadyLevel } from './steady-level.ts';

/** The hum and drift that were removed. */
export interface Mends {
  readonly drift: boolean;
  /** Lines of the mains: their frequency, and level in dB of full scale; of several channels that of the loudest. */
  readonly hum: readonly { readonly hz: number; readonly dbfs: number }[];
}

/** What is left of a drift that was removed, at most, 1 being full scale. */
export interface DriftLeft {
  readonly peak: number;
  readonly peakAtStart: number;
}

export interface MendedRecording {
  readonly mends: Mends;
  readonly left: DriftLeft;
  /** The same blocks without it, 1 being full scale. */
  readonly blocks: (blocks: Iterable<SampleBlock>) => Generator<SampleBlock>;
}

interface MeasuredRecording {
  /** Hz. */
  readonly sampleRate: number;
  readonly channels: number;
  readonly condition: Condition;
  readonly peakDbfs: number | null;
}

/** Hum is measured in stretches this long, s, ... */
const STRETCH = 0.4;
/** ... and drift in these, whose window suppresses waves from 40 Hz on by 31 dB: a drift may turn within half a second. */
const REST_STRETCH = 0.1;
/**
 * The most that is left of a drift, as a share of what was removed; and at the start, where nothing before it says how
 * it goes on and a first stroke leads the fit astray, of that and the peak. By trying drifts up to 0.8 Hz, under strokes
 * and alone.
 */
const LEFT = 0.003;
const LEFT_AT_START = 0.03;
/** Multiples of the mains that are looked for. */
const MULTIPLES = 10;
/** A stretch holds hum alone where its line is this near to the hum's level, as a ratio: 1.5 dB. */
const ALONE = 10 ** (1.5 / 20);
/** Stretches nearby that a sine is measured from, and how many at least. */
const NEARBY = 11;
const FEWEST = 3;
/** A line is steady where the stretches differ from their median by less than this share of it. */
const STILL = 0.3;
/** A line under this share of the hum's level does no harm: -40 dB. */
const HARMLESS = 0.01;

/**
 * Finds the drift and the hum to be removed.
 * @param blocks all of the recording.
 * @returns undefined where there is neither drift nor hum, or neither can be separated from the hits.
 */
export function mendedOf(
  blocks: Iterable<SampleBlock>,
  { sampleRate, channels, condition, peakDbfs }: MeasuredRecording,
): MendedRecording | undefined {
  const { hum } = condition;
  const hasDrift = driftShows(condition, peakDbfs);
  if (!hasDrift && hum === null) return undefined;
  const lines = hum === null ? [] : linesOf(hum.mainsHz, sampleRate);
  const all = Array.from({ length: channels }, () => ({
    rests: new StretchMeasures(sampleRate, [], REST_STRETCH),
    hums: new StretchMeasures(sampleRate, lines, STRETCH),
  }));
  for (const { channels: samples, frames } of blocks)
    all.forEach(({ rests, hums }, c) => {
      if (hasDrift) rests.add(samples[c] as Float64Array, frames);
      if (hum !== null) hums.add(samples[c] as Float64Array, frames);
    });
  const found = all.map(({ rests, hums }) => ({
    rests: hasDrift ? baselineOf(rests.levels, rests.powers) : [],
    sines: hum === null ? [] : hums.sines(hum.hz, 10 ** (hum.dbfs / 20)),
  }));
  const loudest = new Map<number, { hz: number; dbfs: number }>();
  for (const { multiple, hz, amplitude } of found.flatMap(({ sines }) => sines)) {
    const dbfs = 20 * Math.log10(amplitude);
    if (dbfs > (loudest.get(multiple)?.dbfs ?? Number.NEGATIVE_INFINITY))
      loudest.set(multiple, { hz, dbfs });
  }
  const isDrift = found.some(({ rests }) => rests.length > 1);
  if (!isDrift && loudest.size === 0) return undefined;
  const peak = 10 ** ((peakDbfs ?? Number.NEGATIVE_INFINITY) / 20);
  const removed = found.reduce((most, { rests }) => Math.max(most, rangeOf(rests)), 0);
  return {
    left: isDrift
      ? { peak: LEFT * removed, peakAtStart: LEFT_AT_START * (removed + peak) }
      : { peak: 0, peakAtStart: 0 },
    mends: { drift: isDrift, hum: [...loudest.values()].toSorted((a, b) => a.hz - b.hz) },
    *blocks(again) {
      let at = 0;
      const shape = {
        restHop: all[0]?.rests.hop as number,
        hop: all[0]?.hums.hop as number,
        sampleRate,
      };
      for (const { channels: samples, frames } of again) {
        yield {
          channels: found.map((one, c) =>
            without(samples[c] as Float64Array, frames, at, { ...one, ...shape }),
          ),
          frames,
        };
        at += frames;
      }
    },
  };
}

function rangeOf(rests: readonly Rest[]): number {
  const levels = rests.map(({ level }) => level);
  return levels.length === 0 ? 0 : largest(levels) - smallest(levels);
}

function linesOf(mainsHz: number, sampleRate: number): readonly number[] {
  return Array.from({ length: MULTIPLES }, (_, k) => (k + 1) * mainsHz).filter(
    (hz) => hz < sampleRate / 4,
  );
}

/** Twice the Fourier coefficient: the amplitude and phase of a sine. */
interface Coefficient {
  readonly re: number;
  readonly im: number;
}

interface Sine {
  readonly multiple: number;
  readonly hz: number;
  readonly amplitude: number;
  /** For each stretch. */
  readonly at: readonly Coefficient[];
}

/** The cubic through two levels with their slopes (Hermite); outside of all the cubic fitted to the end. */
function levelAt(rests: readonly Rest[], place: number): number {
  const last = rests.length - 1;
  const end = place < 0 ? 0 : last;
  if (place < 0 || place > last) {
    const { level, slope, bend, twist } = rests[end] as Rest;
    const t = place - end;
    return level + t * (slope + t * (bend + t * twist));
  }
  const k = Math.min(last - 1, Math.floor(place));
  const [a, b] = [rests[k] as Rest, rests[k + 1] as Rest];
  const t = place - k;
  const [t2, t3] = [t * t, t * t * t];
  return (
    (2 * t3 - 3 * t2 + 1) * a.level +
    (t3 - 2 * t2 + t) * a.slope +
    (3 * t2 - 2 * t3) * b.level +
    (t3 - t2) * b.slope
  );
}

/** Samples without the drift and the hum found in them. @param at where they lie in the recording. */
function without(
  samples: Float32Array | Float64Array,
  frames: number,
  at: number,
  {
    rests,
    sines,
    restHop,
    hop,
    sampleRate,
  }: {
    readonly rests: readonly Rest[];
    readonly sines: readonly Sine[];
    readonly restHop: number;
    readonly hop: number;
    readonly sampleRate: number;
  },
): Float64Array {
  const left = Float64Array.from(samples.subarray(0, frames));
  for (let n = 0; n < frames && rests.length > 1; n++)
    // The first stretch has its middle one hop from the start.
    left[n] = (left[n] as number) - levelAt(rests, (at + n) / restHop - 1);
  for (const { hz, at: found } of sines) {
    const step = (2 * Math.PI * hz) / sampleRate;
    const last = found.length - 1;
    let cos = Math.cos(step * at);
    let sin = Math.sin(step * at);
    const [turnCos, turnSin] = [Math.cos(step), Math.sin(step)];
    for (let n = 0; n < frames; n++) {
      const place = Math.min(last, Math.max(0, (at + n) / hop - 1));
      const k = Math.min(Math.max(0, last - 1), Math.floor(place));
      const share = place - k;
      const a = found[k] as Coefficient;
      const b = found[Math.min(last, k + 1)] as Coefficient;
      left[n] =
        (left[n] as number) -
        (a.re + share * (b.re - a.re)) * cos +
        (a.im + share * (b.im - a.im)) * sin;
      const turned = cos * turnCos - sin * turnSin;
      sin = cos * turnSin + sin * turnCos;
      cos = turned;
    }
  }
  return left;
}

/** The measures of each stretch of one channel. */
class StretchMeasures {
  /** Samples from one to the next. */
  readonly hop: number;
  private readonly sampleRate: number;
  private readonly lines: readonly number[];
  private readonly samples: Float64Array;
  /** Of each line a cosine and a sine, through the window. */
  private readonly tables: readonly (readonly [Float64Array, Float64Array])[];
  readonly levels: number[] = [];
  /** Mean squares about the steady levels. */
  readonly powers: number[] = [];
  private readonly coefficients: Coefficient[][];
  private filled = 0;
  private start = 0;

  constructor(sampleRate: number, lines: readonly number[], seconds: number) {
    this.sampleRate = sampleRate;
    this.lines = lines;
    this.hop = Math.round((seconds * sampleRate) / 2);
    const size = 2 * this.hop;
    this.samples = new Float64Array(size);
    const window = Float64Array.from(
      { length: size },
      (_, n) => (2 - 2 * Math.cos((2 * Math.PI * (n + 0.5)) / size)) / size,
    );
    this.tables = lines.map((hz) => {
      const step = (2 * Math.PI * hz) / sampleRate;
      return [
        window.map((weight, n) => weight * Math.cos(step * n)),
        window.map((weight, n) => weight * Math.sin(step * n)),
      ];
    });
    this.coefficients = lines.map(() => []);
  }

  add(samples: Float32Array | Float64Array, frames: number): void {
    for (let from = 0; from < frames; ) {
      const count = Math.min(frames - from, this.samples.length - this.filled);
      this.samples.set(samples.subarray(from, from + count), this.filled);
      this.filled += count;
      from += count;
      if (this.filled === this.samples.length) this.look();
    }
  }

  private look(): void {
    const { samples, hop, start, sampleRate } = this;
    const level = steadyLevel(samples, samples.length);
    this.levels.push(level);
    this.powers.push(powerAbout(level, samples));
    this.lines.forEach((hz, line) => {
      const step = (2 * Math.PI * hz) / sampleRate;
      const [cosines, sines] = this.tables[line] as readonly [Float64Array, Float64Array];
      let re = 0;
      let im = 0;
      for (let n = 0; n < samples.length; n++) {
        re += (cosines[n] as number) * (samples[n] as number);
        im -= (sines[n] as number) * (samples[n] as number);
      }
      // Phases count from the start of the recording, not of the stretch.
      const [cos, sin] = [Math.cos(step * start), Math.sin(step * start)];
      this.coefficients[line]?.push({ re: re * cos + im * sin, im: im * cos - re * sin });
    });
    samples.copyWithin(0, hop);
    this.filled = hop;
    this.start += hop;
  }

  /**
   * The sines of the mains.
   * @param hz of the strongest, and its amplitude where no hit is.
   */
  sines(hz: number, amplitude: number): readonly Sine[] {
    const strongest = this.coefficients[this.lines.indexOf(hz)] ?? [];
    const clean = [...strongest.keys()].filter((k) => {
      const ratio = sizeOf(strongest[k] as Coefficient) / amplitude;
      return ratio < ALONE && ratio > 1 / ALONE;
    });
    if (clean.length < FEWEST) return [];
    const off = this.offBy(strongest, clean) / hz;
    return this.lines.flatMap((line, index) => {
      const own = this.turned(this.coefficients[index] as Coefficient[], line * off);
      const size = sizeOf(middle(clean.map((k) => own[k] as Coefficient)));
      const at = own.map((_, k) => middle(nearest(clean, k).map((n) => own[n] as Coefficient)));
      const stray = median(
        clean.map((k) => sizeOf(less(own[k] as Coefficient, at[k] as Coefficient))),
      );
      if (size < HARMLESS * amplitude || stray > STILL * size) return [];
      return [{ multiple: index + 1, hz: line * (1 + off), amplitude: size, at }];
    });
  }

  /** By how many Hz a line is off, from how its phase moves between stretches that follow one another. */
  private offBy(found: readonly Coefficient[], clean: readonly number[]): number {
    const turns = clean.flatMap((k) => {
      if (!clean.includes(k + 1)) return [];
      const [a, b] = [found[k] as Coefficient, found[k + 1] as Coefficient];
      return [Math.atan2(b.im * a.re - b.re * a.im, b.re * a.re + b.im * a.im)];
    });
    return turns.length === 0 ? 0 : (median(turns) * this.sampleRate) / (2 * Math.PI * this.hop);
  }

  /** Coefficients corrected for a line so many Hz higher. */
  private turned(found: readonly Coefficient[], hz: number): readonly Coefficient[] {
    return found.map(({ re, im }, k) => {
      const angle = (2 * Math.PI * hz * this.hop * (k + 1)) / this.sampleRate;
      const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
      return { re: re * cos + im * sin, im: im * cos - re * sin };
    });
  }
}

/** The numbers of a rising list that are nearest to `to`. */
function nearest(all: readonly number[], to: number): readonly number[] {
  const next = all.findIndex((one) => one >= to);
  const at = next < 0 ? all.length : next;
  const from = Math.max(0, Math.min(all.length - NEARBY, at - (NEARBY >> 1)));
  return all.slice(from, from + NEARBY);
}

function middle(some: readonly Coefficient[]): Coefficient {
  return { re: median(some.map(({ re }) => re)), im: median(some.map(({ im }) => im)) };
}

function less(a: Coefficient, b: Coefficient): Coefficient {
  return { re: a.re - b.re, im: a.im - b.im };
}

function sizeOf({ re, im }: Coefficient): number {
  return Math.hypot(re, im);
}
