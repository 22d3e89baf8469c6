/**
 * Faults of a recording besides its hits: hum, a level at rest that wanders, channels that run against one
 * another or are empty. Memory grows with length by only 150 bytes a second.
 */

import { largest, smallest } from '../modules/dsp/extremes.ts';
import { baselineOf, powerAbout } from './baseline.ts';
import { steadyLevel } from './steady-level.ts';

export interface Condition {
  /** The strongest steady line that mains make; null for none. */
  readonly hum: Hum | null;
  /** The level that the recording rests at, of full scale, the median over its stretches. */
  readonly restOffset: number;
  /** By how much that level wanders, of full scale: from the lowest to the highest, strokes counting little. */
  readonly drift: number;
  /** Channels, from 1, that run against the first: correlation under -0.5. */
  readonly opposedChannels: readonly number[];
  /** Channels, from 1, that are empty while others are not. */
  readonly silentChannels: readonly number[];
}

export interface Hum {
  readonly hz: number;
  /** Of the mains: 50 or 60 Hz. */
  readonly mainsHz: number;
  /** Peak, dB of full scale. */
  readonly dbfs: number;
}

/** The least offset or drift that shows in the figures: as a share of full scale and of the peak. */
const SHOWS = 0.005;
const SHOWS_OF_PEAK = 0.03;
/** Mains, and their lowest harmonics. A rectifier hums at twice its mains. */
const MAINS_HZ = [50, 60];
const HARMONICS = [1, 2, 3];
/** The reduced sample rate, about, Hz: the lines lie under a fifth of it. */
const LOW_RATE = 1000;
/** A stretch under a Hann window, s, whose response is 0 from 5 Hz off its middle. */
const STRETCH = 0.4;
const OFF_HZ = 2 / STRETCH;
/** Mains is this many times as strong as 5 Hz to either side: a tone 1 Hz off has a sixth of itself there. */
const ALONE = 8;
/** Mains do not fade: from one stretch to the next within 1 dB, ... */
const STEADY = 10 ** (1 / 20);
/** ... three stretches long, which is 0.8 s. */
const LONG_ENOUGH = 3;
/** Hum this far under the peak harms no figure: -66 dB. */
const HARMLESS = 0.0005;
/** The same limit as in mixdown.ts. */
const OPPOSED = -0.5;
/** A channel under this, mean square, is empty: -90 dB. */
const NOTHING = 1e-9;

/** Whether the level that a recording rests at wanders so much that it shows in the figures. */
export function driftShows({ drift }: Condition, peakDbfs: number | null): boolean {
  return drift > leastShown(peakDbfs);
}

/** The least offset or drift that shows in the figures, as a share of full scale. */
export function leastShown(peakDbfs: number | null): number {
  return Math.max(SHOWS, SHOWS_OF_PEAK * 10 ** ((peakDbfs ?? 0) / 20));
}

/** Looks for these faults, block by block. */
export class ConditionMeter {
  private readonly stretches: readonly HalfOverlapping[];
  private readonly own: Float64Array;
  private readonly withFirst: Float64Array;
  private frames = 0;

  /** @param sampleRate Hz, from 1000 on. */
  constructor(sampleRate: number, channels: number) {
    this.stretches = Array.from({ length: channels }, () => new HalfOverlapping(sampleRate));
    this.own = new Float64Array(channels);
    this.withFirst = new Float64Array(channels);
  }

  /** Takes in the first `frames` of the channels. */
  add(channels: readonly Float64Array[], frames: number): void {
    const first = channels[0] as Float64Array;
    channels.forEach((samples, c) => {
      let own = 0;
      let both = 0;
      for (let n = 0; n < frames; n++) {
        const value = samples[n] as number;
        own += value * value;
        both += value * (first[n] as number);
      }
      this.own[c] = (this.own[c] as number) + own;
      this.withFirst[c] = (this.withFirst[c] as number) + both;
      (this.stretches[c] as HalfOverlapping).add(samples, frames);
    });
    this.frames += frames;
  }

  /** Ends the recording. @param peak of it, full scale being 1. */
  finish(peak: number): Condition {
    const { own, withFirst, frames } = this;
    const power = [...own].map((sum) => sum / Math.max(1, frames));
    const sounds = power.map((mean) => mean > NOTHING);
    const correlation = (c: number) =>
      (withFirst[c] as number) / Math.sqrt((own[0] as number) * (own[c] as number));
    const found = this.stretches.map((one) => one.finish());
    const rests = found.reduce((a, b) => (b.drift > a.drift ? b : a));
    const hums = found.flatMap(({ hum }) => (hum === null ? [] : [hum]));
    const hum = hums.reduce<MainsLine | null>(
      (a, b) => (a === null || b.amplitude > a.amplitude ? b : a),
      null,
    );
    return {
      hum:
        hum === null || hum.amplitude < HARMLESS * peak
          ? null
          : { hz: hum.hz, mainsHz: hum.mainsHz, dbfs: 20 * Math.log10(hum.amplitude) },
      restOffset: rests.offset,
      drift: rests.drift,
      opposedChannels: numbers(own.length, (c) => c > 0 && correlation(c) < OPPOSED),
      silentChannels: sounds.includes(true) ? numbers(own.length, (c) => !sounds[c]) : [],
    };
  }
}

function numbers(count: number, holds: (c: number) => boolean): number[] {
  return Array.from({ length: count }, (_, c) => c)
    .filter(holds)
    .map((c) => c + 1);
}

interface MainsLine {
  readonly hz: number;
  readonly mainsHz: number;
  readonly amplitude: number;
}

/** How stretches are analysed: the reduced rate, how many samples are averaged into one, and the window. */
interface StretchAnalysis {
  readonly rate: number;
  readonly factor: number;
  readonly window: Float64Array;
}

/** One of the lines, and how long it has been steady. */
class LineWatch {
  readonly hz: number;
  readonly mainsHz: number;
  /** The softest amplitude at which it was steady for long enough; infinite if it never was. */
  least = Number.POSITIVE_INFINITY;
  private readonly at: ToneMeter;
  private readonly sides: readonly ToneMeter[];
  private last = 0;
  private stood = 0;

  constructor(hz: number, mainsHz: number, scope: StretchAnalysis) {
    this.hz = hz;
    this.mainsHz = mainsHz;
    this.at = new ToneMeter(hz, scope);
    this.sides = [-OFF_HZ, OFF_HZ].map((off) => new ToneMeter(hz + off, scope));
  }

  look(samples: Float64Array): void {
    const amplitude = this.at.of(samples);
    const isAlone = this.sides.every((side) => amplitude > ALONE * side.of(samples));
    const { last } = this;
    const isSteady = amplitude < STEADY * last && last < STEADY * amplitude;
    if (!isAlone) this.stood = 0;
    else this.stood = isSteady ? this.stood + 1 : 1;
    this.last = amplitude;
    if (this.stood >= LONG_ENOUGH && amplitude < this.least) this.least = amplitude;
  }
}

/** Stretches of one channel, each half over the one before it, at the low rate. */
class HalfOverlapping {
  private readonly factor: number;
  private readonly samples: Float64Array;
  private readonly lines: readonly LineWatch[];
  /** The steady level of each, and the mean square about it. */
  private readonly offsets: number[] = [];
  private readonly powers: number[] = [];
  private filled = 0;
  private seen = 0;
  // Two means in a row, each of `factor` samples, suppress frequencies above the low rate by 50 dB.
  private sum = 0;
  private before = 0;

  constructor(sampleRate: number) {
    this.factor = Math.max(1, Math.floor(sampleRate / LOW_RATE));
    const rate = sampleRate / this.factor;
    const size = 2 * Math.round((STRETCH * rate) / 2);
    this.samples = new Float64Array(size);
    const window = Float64Array.from(
      { length: size },
      (_, n) => (1 - Math.cos((2 * Math.PI * (n + 0.5)) / size)) / size,
    );
    const scope: StretchAnalysis = { rate, factor: this.factor, window };
    this.lines = MAINS_HZ.flatMap((mainsHz) =>
      HARMONICS.map((times) => new LineWatch(times * mainsHz, mainsHz, scope)),
    );
  }

  add(samples: Float64Array, frames: number): void {
    const { factor } = this;
    for (let n = 0; n < frames; n++) {
      this.sum += samples[n] as number;
      if (++this.seen < factor) continue;
      const mean = this.sum / factor;
      this.samples[this.filled++] = (mean + this.before) / 2;
      this.before = mean;
      this.seen = 0;
      this.sum = 0;
      if (this.filled === this.samples.length) this.look();
    }
  }

  private look(): void {
    const { samples } = this;
    for (const line of this.lines) line.look(samples);
    const level = steadyLevel(samples, samples.length);
    this.offsets.push(level);
    this.powers.push(powerAbout(level, samples));
    samples.copyWithin(0, samples.length / 2);
    this.filled = samples.length / 2;
  }

  finish(): { readonly offset: number; readonly drift: number; readonly hum: MainsLine | null } {
    const sorted = Float64Array.from(this.offsets).sort();
    const offset = sorted[sorted.length >> 1] ?? 0;
    const rests = baselineOf(this.offsets, this.powers).map(({ level }) => level);
    const drift = rests.length === 0 ? 0 : largest(rests) - smallest(rests);
    let hum: MainsLine | null = null;
    for (const { hz, mainsHz, least } of this.lines)
      if (Number.isFinite(least) && least > (hum?.amplitude ?? 0))
        hum = { hz, mainsHz, amplitude: least };
    return { offset, drift, hum };
  }
}

/** How much of one frequency is in a stretch. */
class ToneMeter {
  private readonly cos: Float64Array;
  private readonly sin: Float64Array;

  constructor(hz: number, { rate, factor, window }: StretchAnalysis) {
    const step = (2 * Math.PI * hz) / rate;
    // The window's sum is 1, and twice that gives a sine's amplitude. The mean of `factor` samples has
    // lowered it to sin(x)/(factor sin(x/factor)), and the mean of two of those by cos(x).
    const x = step / 2;
    const scale = (2 * factor * Math.sin(x / factor)) / (Math.sin(x) * Math.cos(x));
    this.cos = window.map((weight, n) => scale * weight * Math.cos(step * n));
    this.sin = window.map((weight, n) => scale * weight * Math.sin(step * n));
  }

  of(samples: Float64Array): number {
    const { cos, sin } = this;
    let re = 0;
    let im = 0;
    for (let n = 0; n < samples.length; n++) {
      re += (samples[n] as number) * (cos[n] as number);
      im += (samples[n] as number) * (sin[n] as number);
    }
    return Math.sqrt(re * re + im * im);
  }
}
