/**
 * What a hit sounds like, as power in bands over time: third octaves from 22 Hz to 20 kHz, at the
 * bottom as wide as the window asks for. Neither the phase nor the waveform of a noise is in it.
 *
 * The bands above 450 Hz are looked at through Hann windows of about 10 ms, those below through ones
 * of about 40 ms, on the signal brought down to about 3 kHz. Frames are 2 ms apart.
 */

import { Decimator } from '../measure/decimator.ts';
import { bandEdges } from '../measure/spectrum/bands.ts';
import { largest } from '../modules/dsp/extremes.ts';
import { BandWindow, type Frames, LOWEST_BAND } from './scale.ts';

/** Where a hit is in a signal, samples: its onset, and the sample from which it is not heard alone. */
export interface HitSpan {
  readonly onset: number;
  readonly end: number;
}

/** The mean of some hits, each counting by its energy. */
export interface HitPicture {
  /** Frames before the onset; frame `lead` is centred on it. */
  readonly lead: number;
  readonly frames: number;
  /** By band: for each frame the sum of the powers of all before it, of hits of energy 1. */
  readonly sums: readonly Float64Array[];
  /** By band: for each frame what the noise of the surroundings counts, as power is counted. */
  readonly shares: readonly Float64Array[];
  /** By band: frames that are known, from the first. */
  readonly known: readonly number[];
  /** By band: by how many dB a hit's frames differ from the mean's; 0 for a single hit. */
  readonly spreads: readonly number[];
  /** Mean energy of the hits, in the first {@link ENERGY_FRAMES} frames at most. */
  readonly energy: number;
}

/** A signal, made ready. */
export interface Prepared {
  readonly full: Float64Array;
  readonly low: Float64Array;
}

/** s between frames. */
export const FRAME = 0.002;
const FULL_WINDOW = 0.0107;
const LOW_WINDOW = 0.043;
/** What the low part is brought down to, Hz, or a little above; the border between the two. */
const LOW_RATE = 3000;
const SEAM_BAND = -3.5;
/** The highest frequency that is looked at, as a share of the sample rate: converters cut near a half. */
const HIGHEST_SHARE = 0.45;
/** Energies of hits are compared over so many frames, or the shortest hit's. */
const ENERGY_FRAMES = 50;
/** How hits differ is looked at where they are within this of their loudest, and counts up to, dB. */
const SPREAD_RANGE = 0.001;
const MOST_SPREAD = 10;

/** Looks at signals of one sample rate. */
export class HitScope {
  readonly sampleRate: number;
  /** Length of each band's window, s. */
  readonly windows: readonly number[];
  private readonly full: BandWindow;
  private readonly low: BandWindow;

  /** @param sampleRate Hz, from 8000. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    const factor = Math.max(1, Math.floor(sampleRate / LOW_RATE));
    const [, seam] = bandEdges(SEAM_BAND - 0.5);
    this.low = new BandWindow(sampleRate / factor, LOW_WINDOW, [bandEdges(LOWEST_BAND)[0], seam]);
    this.full = new BandWindow(sampleRate, FULL_WINDOW, [seam, HIGHEST_SHARE * sampleRate]);
    this.windows = [this.low, this.full].flatMap(({ bands, seconds }) => bands.map(() => seconds));
  }

  /** Makes a signal ready; it is followed and preceded by silence. */
  prepare(samples: Float64Array): Prepared {
    const factor = Math.round(this.sampleRate / this.low.sampleRate);
    const decimator = new Decimator(factor, bandEdges(SEAM_BAND - 0.5)[1] / this.sampleRate);
    // The filter looks ahead, so that silence must follow before the end comes out.
    const more = new Float64Array(samples.length + Math.ceil(this.sampleRate / 4));
    more.set(samples);
    const low = decimator.run(more, more.length);
    return {
      full: padded(samples, this.full.size),
      low: padded(low.subarray(0, decimator.count), this.low.size),
    };
  }

  /**
   * The mean picture of some hits of a signal.
   * @param hits one or more.
   * @param extent frames before the onset, and in all.
   */
  average(
    sound: Prepared,
    hits: readonly HitSpan[],
    { lead, frames }: { readonly lead: number; readonly frames: number },
  ): HitPicture {
    const seen = hits.map((hit) => ({
      low: this.low.frames(sound.low, this.times(hit, lead, frames, this.low)),
      full: this.full.frames(sound.full, this.times(hit, lead, frames, this.full)),
    }));
    const common = seen.reduce(
      (least, { low, full }) => Math.min(least, low.count, full.count),
      lead + ENERGY_FRAMES,
    );
    const energies = seen.map(
      ({ low, full }) => energyOf(low, lead, common) + energyOf(full, lead, common),
    );
    const loudest = largest(energies);
    const parts = [seen.map(({ low }) => low), seen.map(({ full }) => full)].map((part) =>
      mean(part, energies, frames),
    );
    return {
      lead,
      frames,
      sums: parts.flatMap(({ sums }) => sums),
      shares: parts.flatMap(({ sums, share }) => sums.map(() => share)),
      known: parts.flatMap(({ sums, known }) => sums.map(() => known)),
      spreads: parts.flatMap(({ spreads }) => spreads),
      energy: loudest > 0 ? energies.reduce((sum, one) => sum + one, 0) / energies.length : 0,
    };
  }

  /** Mean power in each band over a stretch, as frames have it. */
  level(sound: Prepared, from: number, to: number): readonly number[] {
    const frames = Math.max(1, Math.floor((to - from) / (FRAME * this.sampleRate)));
    return [this.low, this.full].flatMap((scale) => {
      const half = scale.seconds / 2;
      const inside = Math.max(1, frames - Math.ceil(scale.seconds / FRAME));
      const start = from / this.sampleRate + half;
      const times = Array.from({ length: inside }, (_, k) => start + k * FRAME);
      const { power, count } = scale.frames(scale === this.low ? sound.low : sound.full, times);
      return power.map((band) => band.reduce((sum, one) => sum + one, 0) / count);
    });
  }

  /** When the frames of a hit are, s: those whose windows end before it does. */
  private times(hit: HitSpan, lead: number, frames: number, { seconds }: BandWindow): number[] {
    const end = hit.end / this.sampleRate - seconds / 2;
    const onset = hit.onset / this.sampleRate;
    const all = Array.from({ length: frames }, (_, k) => onset + (k - lead) * FRAME);
    return all.filter((time) => time <= end);
  }
}

/** Power of the loudest frame, all bands together. */
export function loudestPower({ sums, frames, energy }: HitPicture): number {
  let loudest = 0;
  for (let k = 0; k < frames; k++) {
    let power = 0;
    for (const sum of sums) power += (sum[k + 1] as number) - (sum[k] as number);
    loudest = Math.max(loudest, power);
  }
  return energy * loudest;
}

function energyOf({ power, count }: Frames, from: number, to: number): number {
  let sum = 0;
  for (const band of power)
    for (let k = from; k < Math.min(to, count); k++) sum += band[k] as number;
  return sum;
}

/** The mean of several hits' frames. Of frames that only some have, it is the mean of these. */
function mean(hits: readonly Frames[], energies: readonly number[], frames: number) {
  const known = largest(hits.map(({ count }) => count));
  const share = new Float64Array(frames);
  const weight = new Float64Array(frames);
  hits.forEach(({ count }, hit) => {
    for (let k = 0; k < count; k++) {
      share[k] = (share[k] as number) + 1;
      weight[k] = (weight[k] as number) + (energies[hit] as number);
    }
  });
  for (let k = 0; k < known; k++) {
    const sum = weight[k] as number;
    share[k] = sum > 0 ? (share[k] as number) / sum : 0;
  }
  const sums = (hits[0] as Frames).power.map((_, band) => {
    const sum = new Float64Array(frames + 1);
    for (let k = 0; k < frames; k++) {
      let power = 0;
      for (const { power: bands, count } of hits)
        if (k < count) power += (bands[band] as Float64Array)[k] as number;
      const total = weight[k] as number;
      sum[k + 1] = (sum[k] as number) + (total > 0 ? power / total : 0);
    }
    return sum;
  });
  const spreads = sums.map((sum, band) => spreadOf(hits, energies, band, sum));
  return { sums, share, known, spreads };
}

/** The mean of |10 log10(hit / mean)| where the mean is heard. */
function spreadOf(
  hits: readonly Frames[],
  energies: readonly number[],
  band: number,
  sums: Float64Array,
): number {
  if (hits.length < 2) return 0;
  const means = sums.subarray(1).map((sum, k) => sum - (sums[k] as number));
  const least = SPREAD_RANGE * means.reduce((most, power) => Math.max(most, power), 0);
  let whole = 0;
  let count = 0;
  hits.forEach(({ power, count: known }, hit) => {
    const energy = energies[hit] as number;
    for (let k = 0; k < known; k++) {
      const mean = means[k] as number;
      const own = ((power[band] as Float64Array)[k] as number) / energy;
      if (!(mean > least && own > 0)) continue;
      whole += Math.min(MOST_SPREAD, Math.abs(10 * Math.log10(own / mean)));
      count++;
    }
  });
  return count > 0 ? whole / count : 0;
}

function padded(samples: Float64Array, room: number): Float64Array {
  const longer = new Float64Array(samples.length + 2 * room);
  longer.set(samples, room);
  return longer;
}
