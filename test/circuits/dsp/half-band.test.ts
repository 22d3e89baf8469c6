// The half-band filters against the published design and against the bands that they must stop and pass.

import { describe, expect, it } from 'vitest';
import '../shim.ts';
import {
  CleanSteepHalfBand,
  CleanWideHalfBand,
  SteepHalfBand,
  WideHalfBand,
  WidestHalfBand,
} from '../../../src/circuits/dsp/half-band';
import { close } from '../../close.ts';
import { powerAt } from '../../fft.ts';

type Pair = CleanSteepHalfBand | CleanWideHalfBand | SteepHalfBand | WideHalfBand | WidestHalfBand;

/** Response of a pair that doubles the rate, to one sample of 1. */
function doubled(pair: Pair, samples: number): number[] {
  const out: number[] = [];
  for (let n = 0; n < samples; n++) {
    const both = pair.run(f64x2.splat(n === 0 ? 1 : 0));
    out.push(f64x2.extract_lane(both, 0), f64x2.extract_lane(both, 1));
  }
  return out;
}

/** dB at a frequency given as a share of the rate. */
function decibels(response: readonly number[], share: number): number {
  return 10 * Math.log10(powerAt(response, share));
}

/**
 * All-pass coefficients of an elliptic half-band filter with the stop band from 1/2 - `pass` of the
 * higher rate on. Valenzuela & Constantinides, IEE Proc. G 130 (1983) 225 (from memory), by the nome.
 */
function design(count: number, pass: number): number[] {
  const k = Math.tan(Math.PI * pass) ** 2;
  const root = (1 - k * k) ** 0.25;
  const e = (0.5 * (1 - root)) / (1 + root);
  const q = e + 2 * e ** 5 + 15 * e ** 9 + 150 * e ** 13;
  const order = 2 * count + 1;
  return Array.from({ length: count }, (_, i) => {
    const angle = ((i + 1) * Math.PI) / order;
    let upper = 0;
    let lower = 0.5;
    for (let j = 0; j < 8; j++)
      upper += (-1) ** j * q ** (j * (j + 1)) * Math.sin((2 * j + 1) * angle);
    for (let j = 1; j < 8; j++) lower += (-1) ** j * q ** (j * j) * Math.cos(2 * j * angle);
    const w = (q ** 0.25 * upper) / lower;
    const x = Math.sqrt((1 - w * w * k) * (1 - (w * w) / k)) / (1 + w * w);
    return (1 - x) / (1 + x);
  });
}

/** The response that such coefficients have, by the formula of two all-pass chains. */
function designed(coefficients: readonly number[], share: number): number {
  const chain = (first: number): number => {
    let phase = 0;
    for (let i = first; i < coefficients.length; i += 2) {
      const c = coefficients[i] as number;
      // (c + z^-2)/(1 + c z^-2) turns by this much.
      const w = 4 * Math.PI * share;
      phase -= w - 2 * Math.atan2(c * Math.sin(w), 1 + c * Math.cos(w));
    }
    return phase;
  };
  const half = 0.5 * (chain(0) - (chain(1) - 2 * Math.PI * share));
  return 20 * Math.log10(Math.abs(2 * Math.cos(half)));
}

const FILTERS = [
  { name: 'steep', make: () => new SteepHalfBand(), count: 8, pass: 20 / 88.2, stopped: 104 },
  { name: 'wide', make: () => new WideHalfBand(), count: 3, pass: 20 / 176.4, stopped: 96 },
  {
    name: 'clean steep',
    make: () => new CleanSteepHalfBand(),
    count: 10,
    pass: 20 / 88.2,
    stopped: 130,
  },
  {
    name: 'clean wide',
    make: () => new CleanWideHalfBand(),
    count: 4,
    pass: 20 / 176.4,
    stopped: 125,
  },
  { name: 'widest', make: () => new WidestHalfBand(), count: 2, pass: 20 / 352.8, stopped: 98 },
] as const;

describe.each(FILTERS)('the $name half-band filter', ({ make, count, pass, stopped }) => {
  const response = doubled(make(), 4000);
  const grid = (from: number, to: number): number[] =>
    Array.from({ length: 101 }, (_, i) => from + ((to - from) * i) / 100);

  it('is the published design', () => {
    const coefficients = design(count, pass);
    for (const share of grid(0.001, 0.249)) {
      // Where the response is nearly 0 both sums are rounding; below 0.25 it is never below -3 dB.
      close(decibels(response, share), designed(coefficients, share), {
        abs: 1e-9,
        unit: 'dB',
        why: 'both sum the same exact response in double precision',
      });
    }
  });

  it('stops the images and aliases', () => {
    const worst = Math.max(...grid(0.5 - pass, 0.5).map((share) => decibels(response, share)));
    // A signal sample becomes two, so 0 dB is a gain of 2 here.
    expect(worst - 20 * Math.log10(2)).toBeLessThan(-stopped);
  });

  it('passes what is to be heard', () => {
    for (const share of grid(0, pass)) {
      close(decibels(response, share), 20 * Math.log10(2), {
        abs: 1e-6,
        unit: 'dB',
        why: 'an elliptic half-band of 96 dB ripples by 1e-9 dB in its pass band',
      });
    }
  });

  it('doubles and halves again without any change of level', () => {
    const up = make();
    const down = make();
    const out: number[] = [];
    for (let n = 0; n < 4000; n++) {
      const both = up.run(f64x2.splat(n === 0 ? 1 : 0));
      const one = down.run(v128.shuffle<number>(both, both, 1, 0));
      out.push(0.5 * (f64x2.extract_lane(one, 0) + f64x2.extract_lane(one, 1)));
    }
    for (const share of grid(0, 0.5)) {
      close(decibels(out, share), 0, {
        abs: 1e-9,
        unit: 'dB',
        why: 'what remains is a chain of all-passes, exact but for rounding',
      });
    }
  });

  it('comes to rest', () => {
    const pair = make();
    let both = f64x2.splat(0);
    for (let n = 0; n < 4000; n++) {
      both = pair.run(f64x2.splat(n === 0 ? 1 : 0));
      if (n % 128 === 0) pair.settle();
    }
    expect([f64x2.extract_lane(both, 0), f64x2.extract_lane(both, 1)]).toEqual([0, 0]);
  });
});
