/**
 * A hit as power in third octaves over time: 50 Hz to 16 kHz, every 10 ms from its onset on.
 *
 * A band is what its filter lets through (`band-filters.ts`), a frame the mean square of that over its 10 ms. A
 * narrow filter takes its time: a band of 50 Hz comes 50 ms late and rings on for 100 ms, one of 500 Hz 5 and 10.
 * Sound before the onset is left out: it does not belong to the hit.
 */

import { Decimator } from '../decimator.ts';
import { bandEdges } from '../spectrum/bands.ts';
import { BandBank } from './band-bank.ts';

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

/** Bands under 500 Hz are filtered at a lower rate, at least so high: half a second of one costs little then, Hz. */
const SEAM_BAND = -3;
const LOW_RATE = 5000;
/** The most of the sample rate that a band's upper edge is: nearer to the half, its filter would be bent. */
const HIGHEST = 0.45;

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

/** The bands of one sample rate. */
export class BandScope {
  readonly sampleRate: number;
  /** How many bands lie under half the sample rate. */
  readonly count: number;
  private readonly low: BandBank;
  private readonly high: BandBank;
  private readonly decimator: Decimator;

  /** @param sampleRate Hz, from 1000. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    const all = Array.from({ length: LAST_BAND - FIRST_BAND + 1 }, (_, k) => FIRST_BAND + k);
    const heard = all.filter((x) => bandEdges(x)[1] <= HIGHEST * sampleRate);
    this.count = heard.length;
    const factor = Math.max(1, Math.floor(sampleRate / LOW_RATE));
    this.decimator = new Decimator(factor, bandEdges(SEAM_BAND)[0] / sampleRate);
    const isLow = (x: number): boolean => x < SEAM_BAND;
    this.low = new BandBank(heard.filter(isLow), sampleRate / factor);
    this.high = new BandBank(
      heard.filter((x) => !isLow(x)),
      sampleRate,
    );
  }

  /** @param longest the most frames that are needed. */
  framesOf(hit: HitSound, longest = Number.POSITIVE_INFINITY): BandFrames {
    const step = FRAME_SECONDS * this.sampleRate;
    const frames = Math.min(longest, Math.max(1, Math.floor((hit.end - hit.onset) / step)));
    const alone = hit.samples.subarray(hit.onset, hit.end);
    const slow = this.decimator.reduce(alone);
    const bands = [
      ...this.low.powers(slow, frames, step / this.decimator.factor),
      ...this.high.powers(alone, frames, step),
    ];
    return { bands, frames, hasEnded: hit.hasEnded };
  }
}
