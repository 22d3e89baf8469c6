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
  let sum = 0;
  const windowed = sound.map((volts, i) => {
    const weight = kaiser(i, length);
    sum += weight;
    return volts * weight;
  });
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
  let sum = 0;
  for (let i = 0; i < sound.length; i++) {
    const weight = kaiser(i, sound.length);
    const angle = (2 * Math.PI * hertz * i) / rate;
    re += (sound[i] as number) * weight * Math.sin(angle);
    im += (sound[i] as number) * weight * Math.cos(angle);
    sum += weight;
  }
  const scale = hertz === 0 ? 1 : 2;
  return {
    amplitude: (scale * Math.hypot(re, im)) / sum,
    phase: Math.atan2(im, re) / (2 * Math.PI),
  };
}

/** Kaiser's window, not scaled. */
function kaiser(i: number, length: number): number {
  const x = (2 * i) / (length - 1) - 1;
  return besselI0(BETA * Math.sqrt(1 - x * x));
}

/** Modified Bessel function of order 0: Abramowitz & Stegun 9.6.12. */
function besselI0(x: number): number {
  let sum = 1;
  for (let k = 1, term = 1; term > sum * 1e-17; k++) {
    term *= (x * x) / 4 / (k * k);
    sum += term;
  }
  return sum;
}
