/**
 * A second-order filter whose response follows the analogue one almost to half the sample rate.
 *
 *   sigma = (1 - 1/z)/(1 + 1/z), which is j tan(pi f/rate) at a frequency f
 *   D     = sigma^2 + damping gain sigma + gain^2
 *   low   = gain^2 (1 - low2 sigma^2)/D
 *   band  = gain (band1 sigma + band2 sigma^2)/D
 *   high  = sigma^2/D x (high0 + high1/z)
 *   notch = (sigma^2 + tan^2(pi f0/rate))/D x (notch0 + notch1/z + notch2/z^2)
 *
 * D has the analogue poles: each s becomes z = e^(s/rate), so ringing keeps its pitch and its decay. The free
 * coefficients of the numerators make the magnitudes agree: low at 0 Hz and 0.36 of the rate, high (with its slope)
 * at 0 Hz and 0.37, notch at 0 Hz, f0, 0.23 and 0.365, and band at f0, where its slope is about as steep
 * from 0 Hz to 0.38 of the rate. The numerator of
 * low turns no phase, that of high hardly any, so that the two still meet as the analogue ones do; that of band is
 * early by up to a third of a sample.
 *
 * Source: Vicanek, "Matched second order digital filters" (2016; from memory): poles by impulse
 * invariance, numerators by magnitude, that of three terms out of its power. Which numerators, and where they agree, is chosen here, by trying.
 */

import { cosSinTurns, exp } from './math';

/** Highest cutoff, as a fraction of the sample rate. */
export const HIGHEST_CUTOFF: f64 = 0.45;

const PI: f64 = Math.PI;
const HALF_PI: f64 = 1.5707963267948966;
/** Where the magnitudes agree, as fractions of the sample rate. */
const LOW: f64 = 0.36;
const BAND: f64 = 0.38;
const HIGH: f64 = 0.37;
const NOTCH_LOW: f64 = 0.23;
const NOTCH_HIGH: f64 = 0.365;
/** The band has its full gain at f0, unless f0 is higher than this. */
const HIGHEST_CREST: f64 = 0.37;

/** Gain of a trapezoidal integrator for a cutoff: tan(pi cutoff/rate). */
export function integratorGain(cutoff: f64): f64 {
  const y = cutoff * HALF_PI;
  const y2 = y * y;
  const p = y * (10395 + y2 * (-1260 + y2 * 21));
  const q = 10395 + y2 * (-4725 + y2 * (210 - y2));
  return (2 * p * q) / (q * q - p * p);
}

/** The coefficients of the loop and its outputs. */
export abstract class Section {
  /** Gain of the integrators, and the share of the first that is fed back. */
  gain: f64 = 0;
  damping: f64 = 0;
  low2: f64 = 0;
  band1: f64 = 0;
  band2: f64 = 0;
  high0: f64 = 0;
  high1: f64 = 0;
  notch0: f64 = 0;
  notch1: f64 = 0;
  notch2: f64 = 0;
  /** For the notch: tan^2(pi f0/rate) over gain^2. */
  notchLow: f64 = 0;
}

/** The section for one cutoff. */
export class Matched extends Section {
  readonly q: f64;
  private cutoff: f64 = 0;
  private square: f64 = 0;

  constructor(q: f64) {
    super();
    this.q = q;
  }

  /** @param cutoff as a fraction of the sample rate, over 0, at most HIGHEST_CUTOFF, neither notch frequency. */
  tune(cutoff: f64): void {
    const q = this.q;
    this.cutoff = cutoff;
    const radius = exp((-PI * cutoff) / q);
    const sine = f64x2.extract_lane(
      cosSinTurns(0.5 * cutoff * Math.sqrt(Math.max(0, 1 - 0.25 / (q * q)))),
      1,
    );
    // |1 - z|^2 and |1 + z|^2 of a pole.
    const near = (1 - radius) * (1 - radius) + 4 * radius * sine * sine;
    const far = (1 + radius) * (1 + radius) - 4 * radius * sine * sine;
    const square = near / far;
    this.square = square;
    this.gain = Math.sqrt(square);
    this.damping = (2 * (1 - radius) * (1 + radius)) / (far * this.gain);

    this.low2 = (Math.sqrt(this.powerAt(LOW)) / square - 1) / tanSquared(LOW);

    const angle = PI * cutoff;
    const slope = this.gain / (angle * q);
    const t3 = tanSquared(BAND);
    const rise = Math.sqrt(Math.max(0, (this.bandAt(BAND) - slope * slope) / t3));
    // Both are scaled a little, so that the band has its full gain at f0.
    const crest = Math.min(cutoff, HIGHEST_CREST);
    const given = slope * slope + rise * rise * tanSquared(crest);
    const level = Math.sqrt(this.bandAt(crest) / given);
    this.band1 = level * slope;
    this.band2 = level * rise;

    const t4 = tanSquared(HIGH);
    const y = HIGH / cutoff;
    const steep = square / (angle * angle);
    const high = (this.powerAt(HIGH) * (y * y * (y * y)) * (1 + t4)) / (t4 * t4);
    const upper = Math.sqrt(Math.max(0, (high - steep * steep) / t4));
    this.high0 = 0.5 * (upper + steep);
    this.high1 = 0.5 * (steep - upper);

    // The power of three terms is bottom^2 at 0 Hz, top^2 at half the rate, and bends by `bend` between:
    // bottom^2 (1 - s) + top^2 s + 4 bend s (1 - s), s = sin^2(pi f) = t/(1 + t).
    const t0 = tanSquared(cutoff);
    const bottom = square / t0;
    const s1 = sineSquared(NOTCH_LOW);
    const s2 = sineSquared(NOTCH_HIGH);
    const rest1 = this.notchAt(NOTCH_LOW, t0) - bottom * bottom * (1 - s1);
    const rest2 = this.notchAt(NOTCH_HIGH, t0) - bottom * bottom * (1 - s2);
    const bend1 = 4 * s1 * (1 - s1);
    const bend2 = 4 * s2 * (1 - s2);
    const apart = s1 * bend2 - s2 * bend1;
    const top = Math.sqrt(Math.max(0, (rest1 * bend2 - rest2 * bend1) / apart));
    const bend = (s1 * rest2 - s2 * rest1) / apart;
    const mean = 0.5 * (bottom + top);
    this.notch0 = 0.5 * (mean + Math.sqrt(Math.max(0, mean * mean + bend)));
    this.notch1 = 0.5 * (bottom - top);
    this.notch2 = mean - this.notch0;
    this.notchLow = 1 / bottom;
  }

  /** The square that the band's numerator should have at a frequency, over gain^2 tan^2(pi f/rate). */
  private bandAt(place: f64): f64 {
    const x = place / (this.cutoff * this.q);
    return (this.powerAt(place) * x * x) / (tanSquared(place) * this.square);
  }

  /** The square that the notch's three terms should have at a frequency. @param t0 tan^2(pi f0/rate). */
  private notchAt(place: f64, t0: f64): f64 {
    const away = t0 - tanSquared(place);
    const x = place / this.cutoff;
    const wanted = 1 - x * x;
    return (this.powerAt(place) * wanted * wanted) / (away * away);
  }

  /** |D|^2 over the square of what stands below the analogue responses, at a frequency. */
  private powerAt(place: f64): f64 {
    const t = tanSquared(place);
    const x = place / this.cutoff;
    const rest = this.square - t;
    const loss = this.damping * this.gain;
    const away = 1 - x * x;
    return (rest * rest + loss * loss * t) / (away * away + (x / this.q) * (x / this.q));
  }
}

function sineSquared(place: f64): f64 {
  const t = tanSquared(place);
  return t / (1 + t);
}

function tanSquared(place: f64): f64 {
  const tan = integratorGain(place);
  return tan * tan;
}
