/** Power in third octaves over time, through Hann windows of one length. */

import { bandEdges } from '../measure/spectrum/bands.ts';
import { binEdges, hann, Periodogram } from '../measure/spectrum/spectrum.ts';

/** 25 Hz and 20 kHz; band 0 is at 1 kHz, three to an octave. */
export const LOWEST_BAND = -16;
const HIGHEST_BAND = 13;
/** The narrowest band, in bins. */
const NARROWEST = 1.2;

export interface Frames {
  /** By band, the power in each frame. */
  readonly power: readonly Float64Array[];
  readonly count: number;
}

/** One window's length, and the bands that are seen through it. */
export class BandWindow {
  readonly sampleRate: number;
  readonly size: number;
  readonly seconds: number;
  readonly bands: readonly { readonly first: number; readonly weights: Float64Array }[];
  private readonly periodogram: Periodogram;

  constructor(sampleRate: number, window: number, [from, to]: readonly [number, number]) {
    this.sampleRate = sampleRate;
    this.size = 2 ** Math.round(Math.log2(window * sampleRate));
    this.seconds = this.size / sampleRate;
    this.periodogram = new Periodogram(hann(this.size));
    const edges = binEdges(this.size / 2 + 1, sampleRate);
    this.bands = bandsBetween(from, to, (NARROWEST * sampleRate) / this.size).map((band) =>
      weightsOf(edges, band),
    );
  }

  frames(signal: Float64Array, times: readonly number[]): Frames {
    const { periodogram, bands, size, sampleRate } = this;
    const power = bands.map(() => new Float64Array(times.length));
    const last = signal.length - size;
    for (let k = 0; k < times.length; k++) {
      // The silence in front is as long as the window.
      const at = Math.round((times[k] as number) * sampleRate) + size / 2;
      if (at < 0 || at > last) continue;
      periodogram.energy.fill(0);
      periodogram.add(signal, at);
      for (let b = 0; b < bands.length; b++) {
        const { first, weights } = bands[b] as (typeof bands)[number];
        let sum = 0;
        for (let i = 0; i < weights.length; i++)
          sum += (weights[i] as number) * (periodogram.energy[first + i] as number);
        (power[b] as Float64Array)[k] = sum / size;
      }
    }
    return { power, count: times.length };
  }
}

/** Third octaves; those that would be too narrow are joined with the next. */
function bandsBetween(from: number, to: number, narrowest: number): [number, number][] {
  const bands: [number, number][] = [];
  let low = from;
  for (let x = LOWEST_BAND; x <= HIGHEST_BAND; x++) {
    const [, high] = bandEdges(x);
    if (high <= low * 1.001 || high - low < narrowest) continue;
    if (high > to * 1.001) break;
    bands.push([low, high]);
    low = high;
  }
  return bands;
}

function weightsOf(edges: Float64Array, [from, to]: readonly [number, number]) {
  const inside: number[] = [];
  let first = 0;
  for (let k = 0; k + 1 < edges.length; k++) {
    const [low, high] = [edges[k] as number, edges[k + 1] as number];
    const overlap = Math.min(high, to) - Math.max(low, from);
    if (overlap <= 0) continue;
    if (inside.length === 0) first = k;
    inside.push(overlap / (high - low));
  }
  return { first, weights: Float64Array.from(inside) };
}
