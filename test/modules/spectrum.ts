/** Lines of a steady sound, by a windowed Fourier transform. */

import { powerSpectrum } from '../fft.ts';

/** Kaiser's beta: side lobes below -150 dB, main lobe 6.5 bins either side. */
const BETA = 20;
const LOBE = 9;

export interface Lines {
  /** Hz between bins. */
  readonly resolution: number;
  /** Amplitude of a line at each bin. */
  readonly amplitudes: Float64Array;
}

/** @param sound a power of two long. */
export function lines(sound: Float64Array, rate: number): Lines {
  const length = sound.length;
  const { weights, sum } = kaiser(length);
  const windowed = sound.map((volts, i) => volts * (weights[i] as number));
  const amplitudes = powerSpectrum(windowed).map((power) => (2 * Math.sqrt(power * length)) / sum);
  return { resolution: rate / length, amplitudes };
}

/** The loudest thing between two frequencies that is not a harmonic of `fundamental`. */
export function loudestBetweenHarmonics(
  { resolution, amplitudes }: Lines,
  fundamental: number,
  low: number,
  high: number,
): number {
  let loudest = 0;
  for (let i = Math.ceil(low / resolution); i <= high / resolution; i++) {
    const hertz = i * resolution;
    const away = Math.abs(hertz - Math.round(hertz / fundamental) * fundamental);
    if (away > LOBE * resolution) loudest = Math.max(loudest, amplitudes[i] as number);
  }
  return loudest;
}

/** Amplitude and phase (turns, of a sine) of one known frequency: a windowed Fourier integral. */
export function component(
  sound: Float64Array,
  rate: number,
  hertz: number,
): { amplitude: number; phase: number } {
  let re = 0;
  let im = 0;
  const { weights, sum } = kaiser(sound.length);
  for (let i = 0; i < sound.length; i++) {
    const volts = (sound[i] as number) * (weights[i] as number);
    const angle = (2 * Math.PI * hertz * i) / rate;
    re += volts * Math.sin(angle);
    im += volts * Math.cos(angle);
  }
  const scale = hertz === 0 ? 1 : 2;
  return {
    amplitude: (scale * Math.hypot(re, im)) / sum,
    phase: Math.atan2(im, re) / (2 * Math.PI),
  };
}

interface Window {
  readonly weights: Float64Array;
  readonly sum: number;
}

/** By length: a test asks for many lines of sounds of one length. */
const windows = new Map<number, Window>();

/** Kaiser's window, not scaled. */
function kaiser(length: number): Window {
  const known = windows.get(length);
  if (known !== undefined) return known;
  const weights = new Float64Array(length).map((_, i) => {
    const x = (2 * i) / (length - 1) - 1;
    return besselI0(BETA * Math.sqrt(1 - x * x));
  });
  const made = { weights, sum: weights.reduce((sum, weight) => sum + weight, 0) };
  windows.set(length, made);
  return made;
}

/** Modified Bessel function of order 0: Abramowitz & Stegun 9.6.12. */
export function besselI0(x: number): number {
  let sum = 1;
  for (let k = 1, term = 1; term > sum * 1e-17; k++) {
    term *= (x * x) / 4 / (k * k);
    sum += term;
  }
  return sum;
}
