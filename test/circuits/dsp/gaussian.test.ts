import { describe, expect, it } from 'vitest';
import '../shim.ts';
import { EDGES, Gaussian, LAYER_AREA, TAIL_START } from '../../../src/circuits/dsp/gaussian';
import { close } from '../../close.ts';
import { expected, reference } from '../../reference.ts';

const bell = (x: number): number => Math.exp((-x * x) / 2);

/** Area under the bell from `from` to `to`, by Simpson's rule (Abramowitz & Stegun 25.4.6). */
function area(from: number, to: number, steps = 200): number {
  const h = (to - from) / steps;
  let sum = bell(from) + bell(to);
  for (let i = 1; i < steps; i++) sum += (i % 2 === 1 ? 4 : 2) * bell(from + i * h);
  return (sum * h) / 3;
}

function drawn(gaussian: Gaussian): number {
  gaussian.next();
  return gaussian.value;
}

function draw(count: number, seed = 1): Float64Array {
  const gaussian = new Gaussian(seed, 2, 3, 4, Infinity);
  const all = new Float64Array(count);
  for (let n = 0; n < count; n++) all[n] = drawn(gaussian);
  return all;
}

describe('the layers of the ziggurat', () => {
  it('all have the same area (closed form)', () => {
    for (let layer = 1; layer < 256; layer++) {
      const width = EDGES[layer] as number;
      const height = bell(EDGES[layer + 1] as number) - bell(width);
      // The constants are given to twelve digits.
      close(width * height, LAYER_AREA, { rel: 1e-8, unit: '1', why: 'what is left for the top' });
    }
  });

  it('have a base whose rectangle and tail together have that area too', () => {
    const tail = area(TAIL_START, 12, 2000);
    close(TAIL_START * bell(TAIL_START) + tail, LAYER_AREA, {
      rel: 1e-9,
      unit: '1',
      why: 'Simpson with steps of 0.004',
    });
    close((EDGES[0] as number) * bell(TAIL_START), LAYER_AREA, {
      rel: 1e-14,
      unit: '1',
      why: 'rounding',
    });
  });

  it('cover the whole bell: 256 areas are half of sqrt(2 pi), and what sticks out', () => {
    // The chance that a point of the layers lies under the bell: 99.33 % (Marsaglia & Tsang 2000,
    // from memory).
    close(Math.sqrt(Math.PI / 2) / (256 * LAYER_AREA), 0.9933, {
      abs: 0.00005,
      unit: '1',
      why: 'as many digits as printed',
    });
  });
});

describe('Gaussian', () => {
  it('has the moments of the normal distribution (S-noise-12)', () => {
    const entry = reference('noise', 'S-noise-12');
    const count = 4_000_000;
    const x = draw(count);
    let sum = 0;
    let magnitude = 0;
    let squares = 0;
    let fourth = 0;
    let beyond = 0;
    for (let n = 0; n < count; n++) {
      const value = x[n] as number;
      const square = value * value;
      sum += value;
      magnitude += Math.abs(value);
      squares += square;
      fourth += square * square;
      if (square > 9) beyond += 1;
    }
    const root = Math.sqrt(count);
    const allowed = (sd: number): { abs: number; unit: string; why: string } => ({
      abs: (5 * sd) / root,
      unit: '1',
      why: '5 standard deviations of the estimate',
    });
    // The variances of one term: x: 1, |x|: 1 - 2/pi, x^2: 2, x^4: 96, a share p: p (1 - p).
    close(sum / count, 0, allowed(1));
    close(magnitude / count, expected(entry, 'mean_abs'), allowed(Math.sqrt(1 - 2 / Math.PI)));
    close(squares / count, expected(entry, 'variance'), allowed(Math.SQRT2));
    close(fourth / count, expected(entry, 'kurtosis'), allowed(Math.sqrt(96)));
    const share = expected(entry, 'beyond_3_sigma');
    close(beyond / count, share, allowed(Math.sqrt(share * (1 - share))));
  });

  it('fills every stretch of the bell, wedges and tails too, as often as it should', () => {
    const count = 4_000_000;
    const x = draw(count, 77);
    // Bins a tenth wide from -5 to 5, what is beyond in the outermost ones.
    const bins = 100;
    const counts = new Float64Array(bins);
    for (let n = 0; n < count; n++) {
      const value = x[n] as number;
      const bin = Math.min(bins - 1, Math.max(0, Math.floor((value + 5) * 10)));
      counts[bin] = (counts[bin] as number) + 1;
    }
    let chi = 0;
    let pooled = 0;
    let pooledExpected = 0;
    let degrees = -1;
    for (let bin = 0; bin < bins; bin++) {
      const from = bin === 0 ? -12 : bin / 10 - 5;
      const to = bin === bins - 1 ? 12 : (bin + 1) / 10 - 5;
      pooled += counts[bin] as number;
      pooledExpected += (count * area(from, to, 2000)) / Math.sqrt(2 * Math.PI);
      // At least ten expected in each term: common practice, no source.
      if (pooledExpected < 10 && bin < bins - 1) continue;
      chi += (pooled - pooledExpected) ** 2 / Math.max(pooledExpected, 1);
      degrees += 1;
      pooled = 0;
      pooledExpected = 0;
    }
    // Chi square of k degrees: mean k, variance 2 k (Abramowitz & Stegun 26.4, from memory).
    close(chi, degrees, { abs: 5 * Math.sqrt(2 * degrees), unit: '1', why: '5 sd' });
  });

  it('is as common on either side of the start of the tail', () => {
    const x = draw(4_000_000, 5);
    const share = (2 * area(TAIL_START, 12, 2000)) / Math.sqrt(2 * Math.PI);
    const beyond = x.filter((value) => Math.abs(value) > TAIL_START);
    const sd = Math.sqrt(share * x.length);
    close(beyond.length, share * x.length, { abs: 5 * sd, unit: 'samples', why: '5 sd' });
    const positive = beyond.filter((value) => value > 0).length;
    close(positive, beyond.length / 2, {
      abs: 2.5 * Math.sqrt(beyond.length),
      unit: 'samples',
      why: '5 sd of a fair coin',
    });
  });

  it('has the tail of the bell, not just its weight: the mean beyond the start of the tail', () => {
    const gaussian = new Gaussian(9, 8, 7, 6, Infinity);
    let count = 0;
    let sum = 0;
    let squares = 0;
    for (let n = 0; n < 16_000_000; n++) {
      const beyond = Math.abs(drawn(gaussian)) - TAIL_START;
      if (beyond <= 0) continue;
      count += 1;
      sum += beyond;
      squares += beyond * beyond;
    }
    const mean = sum / count;
    // The inverse Mills ratio: the mean of a normal variable beyond r is bell(r)/area(r, infinity).
    // An exponential tail of the same start would lie 0.03 further out: 9 standard deviations.
    close(mean, bell(TAIL_START) / area(TAIL_START, 12, 2000) - TAIL_START, {
      abs: 5 * Math.sqrt((squares / count - mean * mean) / count),
      unit: '1',
      why: '5 standard deviations of the mean',
    });
  });

  it('never leaves +-9.9, the end of what 32 bits can reach', () => {
    // -ln(2^-33)/r beyond r, from the method's own formula.
    const reach = TAIL_START + (33 * Math.LN2) / TAIL_START;
    expect(reach).toBeLessThan(9.92);
    const farthest = draw(1_000_000, 3).reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    // A million numbers reach 4.4 with near certainty: 1e6 x 1.08e-5 = 11 lie beyond.
    expect(farthest).toBeGreaterThan(4.4);
    expect(farthest).toBeLessThan(reach);
  });
});
