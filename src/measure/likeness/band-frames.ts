/**
 * A hit as power in third octaves over time: 50 Hz to 16 kHz, every 10 ms from its onset on.
 *
 * Frame k is centred on the onset + (k + 1/2) 10 ms. Bands from 500 Hz up are seen through Hann windows
 * of 20 ms, those below through ones of 80 ms, whose bins are as wide as the lowest band. The power of a
 * band is that of the bins between its edges, a bin that is cut counting by the part inside. Sound before
 * the onset is left out: it does not belong to the hit.
 */

import { bandEdges } from '../spectrum/bands.ts';
import { binEdges, hann, Periodogram } from '../spectrum/spectrum.ts';

/** One hit in a signal. */
export interface HitSound {
  /** One channel, without offset, finite numbers. */
  readonly samples: Float64Array;
  /** Hz. */
  readonly sampleRate: number;
  /** Its first sample. */
  readonly onset: number;
  /** The sample from which the next one is heard too, or the signal's length. */
  readonly end: number;
  /** Whether it had died away by then, so that silence may be taken to follow. */
  readonly hasEnded: boolean;
}

export interface BandFrames {
  /** By band from 50 Hz up: the power in each frame, 1 being the square of full scale. */
  readonly bands: readonly Float64Array[];
  /** Frames that are the hit's own. */
  readonly frames: number;
  /** Whether silence follows these. */
  readonly hasEnded: boolean;
}

/** s from frame to frame. */
export const FRAME_SECONDS = 0.01;
/** Bands as IEC 61260-1 counts them, 1 kHz being 0: 50 Hz and 16 kHz. */
export const FIRST_BAND = -13;
export const LAST_BAND = 12;

/** 500 Hz; from here on the windows are short. */
export const SEAM_BAND = -3;
/** Of bands under the seam, and of those from there up, s. */
export const LONG_WINDOW = 0.08;
export const SHORT_WINDOW = 0.02;

/** A stretch is this share of the time since the onset. */
const STRETCH = 0.15;

/** Frames in stretches, each from one and up to another, that grow with the time since the onset. */
export function stretches(frames: number): readonly (readonly [from: number, to: number])[] {
  const found: [number, number][] = [];
  for (let from = 0; from < frames; ) {
    const to = Math.min(frames, from + Math.max(1, Math.round(STRETCH * from)));
    found.push([from, to]);
    from = to;
  }
  return found;
}

/**
 * The powers of a band, averaged over {@link stretches}: this reduces the random scatter in a tail of
 * noise.
 */
export function smoothed(powers: Float64Array): Float64Array {
  const means = new Float64Array(powers.length);
  for (const [from, to] of stretches(powers.length)) {
    let sum = 0;
    for (let k = from; k < to; k++) sum += powers[k] as number;
    means.fill(sum / (to - from), from, to);
  }
  return means;
}

/** The windows and bands of one sample rate. */
export class BandScope {
  readonly sampleRate: number;
  /** How many bands lie under half the sample rate. */
  readonly count: number;
  private readonly long: Window;
  private readonly short: Window;

  /** @param sampleRate Hz, from 1000. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    const all = Array.from({ length: LAST_BAND - FIRST_BAND + 1 }, (_, k) => FIRST_BAND + k);
    const heard = all.filter((x) => bandEdges(x)[1] <= sampleRate / 2);
    this.count = heard.length;
    this.long = new Window(
      sampleRate,
      LONG_WINDOW,
      heard.filter((x) => x < SEAM_BAND),
    );
    this.short = new Window(
      sampleRate,
      SHORT_WINDOW,
      heard.filter((x) => x >= SEAM_BAND),
    );
  }

  /** @param longest the most frames that are needed. */
  framesOf(hit: HitSound, longest = Number.POSITIVE_INFINITY): BandFrames {
    const { sampleRate, long, short } = this;
    const step = FRAME_SECONDS * sampleRate;
    const frames = Math.min(longest, Math.max(1, Math.floor((hit.end - hit.onset) / step)));
    const alone = hit.samples.subarray(hit.onset, hit.end);
    const bands = [long, short].flatMap((window) => window.powers(alone, frames, step));
    return { bands, frames, hasEnded: hit.hasEnded };
  }
}

/** Bands that are seen through windows of one length. */
class Window {
  private readonly periodogram: Periodogram;
  /** Samples that the window weighs; zeros follow up to a power of two. */
  private readonly length: number;
  private readonly size: number;
  private readonly bands: readonly { readonly first: number; readonly shares: Float64Array }[];

  constructor(sampleRate: number, seconds: number, bands: readonly number[]) {
    this.length = 2 * Math.round((seconds * sampleRate) / 2);
    this.size = 2 ** Math.max(2, Math.ceil(Math.log2(this.length)));
    const weights = new Float64Array(this.size);
    weights.set(hann(this.length));
    this.periodogram = new Periodogram(weights);
    const edges = binEdges(this.size / 2 + 1, sampleRate);
    this.bands = bands.map((x) => sharesOf(edges, bandEdges(x)));
  }

  /** By band, the power in each frame. The sound starts at its first sample, with silence before and after it. */
  powers(sound: Float64Array, frames: number, step: number): Float64Array[] {
    const { periodogram, bands, length } = this;
    const powers = bands.map(() => new Float64Array(frames));
    if (bands.length === 0) return powers;
    const { energy } = periodogram;
    const room = new Float64Array(this.size);
    // Mean square of the Hann window.
    const scale = 1 / (0.375 * length);
    for (let k = 0; k < frames; k++) {
      const from = Math.round((k + 0.5) * step) - length / 2;
      room.fill(0);
      const first = Math.max(0, from);
      const last = Math.min(sound.length, from + length);
      if (last <= first) continue;
      room.set(sound.subarray(first, last), first - from);
      energy.fill(0);
      periodogram.add(room);
      for (let b = 0; b < bands.length; b++) {
        const { first: bin, shares } = bands[b] as (typeof bands)[number];
        let sum = 0;
        for (let i = 0; i < shares.length; i++)
          sum += (shares[i] as number) * (energy[bin + i] as number);
        (powers[b] as Float64Array)[k] = sum * scale;
      }
    }
    return powers;
  }
}

/** Which part of each bin lies in a band. */
function sharesOf(edges: Float64Array, [low, high]: readonly [number, number]) {
  const shares: number[] = [];
  let first = 0;
  for (let k = 0; k + 1 < edges.length; k++) {
    const [from, to] = [edges[k] as number, edges[k + 1] as number];
    const inside = Math.min(to, high) - Math.max(from, low);
    if (inside <= 0) continue;
    if (shares.length === 0) first = k;
    shares.push(inside / (to - from));
  }
  return { first, shares: Float64Array.from(shares) };
}
