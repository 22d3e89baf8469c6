/**
 * The level of a recorded noise, and its colour: how its power goes with frequency, in dB an octave, by the
 * line through third-octave bands.
 *
 * White noise has the same power in every hertz (0 dB an octave), pink the same in every octave (-3.01),
 * red half of that in each octave up (-6.02). Bands: IEC 61260-1 base-ten thirds, as in spectrum/bands.ts.
 */

import { WHITE_TO_HZ } from '../../modules/dsp/coloured.ts';
import { binEdges, hann, Periodogram, powerBetween } from '../spectrum/spectrum.ts';
import {
  type DialReading,
  type MonoClip,
  type NoReading,
  steadyPart,
  swinging,
  uselessClip,
} from './reading.ts';

export type Colour = 'white' | 'pink' | 'red';

export const SLOPES: { readonly [colour in Colour]: number } = {
  white: 0,
  pink: -3.0103,
  red: -6.0206,
};

/** The reading of a noise also gives its colour. */
export interface NoiseReading extends DialReading {
  /** dB an octave, and one standard error. */
  readonly slope: number;
  readonly slopeError: number;
}

const LEAST_SECONDS = 0.5;
/** Width of a bin, Hz, about: red noise is far louder below 20 Hz, and must not leak into it. */
const BIN_HZ = 6;
/** dB an octave: a noise whose slope is further off than this has another colour. */
const NEAR_SLOPE = 1;
/** Hz: the band in which the slope is measured. */
const LOWEST = 60;
const HIGHEST = 14_000;
/** dB an octave: no slope is known better, since no interface is that flat: common practice, no source. */
const SLOPE_OFF = 0.02;
/** Hz: the band in which levels are measured; beyond, sources end and interfaces filter. That of white noise from 0 Hz. */
const BAND = [20, 20_000] as const;
/**
 * If thirds of an octave are off the line by more than this besides chance, dB rms, it is not one of these noises.
 */
const OFF_LINE = 2.5;
/** A bin this many times the median of its neighbours is a tone: averaged noise has no such bin. */
const TONE = 12;

/**
 * @returns the rms, 1 being full scale: of white noise up to 24 kHz, as if it went on as it is up to 20 kHz, or as far
 * as the recording goes; of the others from 20 Hz to 20 kHz.
 */
export function noiseLevel(recorded: MonoClip, colour: Colour): NoiseReading | NoReading {
  const useless = uselessClip(recorded, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const { sampleRate, samples } = swinging(steadyPart(recorded));
  const size = 2 ** Math.round(Math.log2(sampleRate / BIN_HZ));
  const window = hann(size);
  const total = new Periodogram(window);
  const powers: number[] = [];
  const from = colour === 'white' ? 1 : BAND[0];
  const to = Math.min(BAND[1], sampleRate / 2);
  const edges = binEdges(size / 2 + 1, sampleRate);
  // The window's own power, by which the bins of a frame add up to the mean square of its samples.
  const scale = 1 / ((3 / 8) * size);
  for (let at = 0; at + size <= samples.length; at += size / 2) {
    const one = new Periodogram(window);
    one.add(samples, at);
    powers.push(scale * powerBetween({ edges, power: one.energy }, from, to));
    for (let k = 0; k < one.energy.length; k++)
      total.energy[k] = (total.energy[k] as number) + (one.energy[k] as number);
  }
  const frames = powers.length;
  if (hasTones(total.energy)) return 'no-noise';
  const line = slopeOf(total.energy, edges, sampleRate, frames);
  if (line === undefined) return 'too-short';
  if (line.off > OFF_LINE) return 'no-noise';
  if (Math.abs(line.slope - SLOPES[colour]) > NEAR_SLOPE + 3 * line.error) return 'other-colour';
  const mean = powers.reduce((sum, power) => sum + power, 0) / frames;
  const variance = powers.reduce((sum, power) => sum + (power - mean) ** 2, 0) / (frames - 1);
  const value = Math.sqrt(mean * (colour === 'white' ? WHITE_TO_HZ / to : 1));
  // Frames overlap by half, which makes the error of their mean some 1.1 times that of independent frames.
  const error = (value / 2) * ((1.1 * Math.sqrt(variance / frames)) / mean);
  return { value, error, slope: line.slope, slopeError: line.error };
}

function hasTones(power: Float64Array): boolean {
  for (let k = 24; k + 24 < power.length; k++) {
    const around: number[] = [];
    for (let j = 6; j <= 24; j += 2) around.push(power[k - j] as number, power[k + j] as number);
    around.sort((a, b) => a - b);
    if ((power[k] as number) > TONE * ((around[around.length >> 1] as number) + 1e-30)) return true;
  }
  return false;
}

/** The line through thirds of an octave, each weighted by its error. */
function slopeOf(power: Float64Array, edges: Float64Array, sampleRate: number, frames: number) {
  const points: { x: number; y: number; chance: number }[] = [];
  const third = 10 ** 0.1;
  for (let hz = LOWEST; hz * third < Math.min(HIGHEST, 0.45 * sampleRate); hz *= third) {
    const inBand = powerBetween({ edges, power }, hz, hz * third);
    if (!(inBand > 0)) return undefined;
    const bins = (hz * (third - 1)) / ((edges[2] as number) - (edges[1] as number));
    points.push({
      x: Math.log2(hz),
      y: 10 * Math.log10(inBand / (hz * (third - 1))),
      chance: 4.343 / Math.sqrt(Math.max(1, (bins * frames) / 2)),
    });
  }
  if (points.length < 6) return undefined;
  const meanX = points.reduce((sum, { x }) => sum + x, 0) / points.length;
  const meanY = points.reduce((sum, { y }) => sum + y, 0) / points.length;
  const across = points.reduce((sum, { x }) => sum + (x - meanX) ** 2, 0);
  const slope = points.reduce((sum, { x, y }) => sum + (x - meanX) * (y - meanY), 0) / across;
  const squares = points.reduce((sum, { x, y }) => sum + (y - meanY - slope * (x - meanX)) ** 2, 0);
  const chance = points.reduce((sum, one) => sum + one.chance ** 2, 0);
  return {
    slope,
    error: Math.hypot(SLOPE_OFF, Math.sqrt(squares / (points.length - 2) / across)),
    off: Math.sqrt(Math.max(0, squares - chance) / points.length),
  };
}
