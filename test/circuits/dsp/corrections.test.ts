// The low-pass impulse against its specification, and the corrections against a slow, direct
// smoothing of the same step and corner.

import { describe, expect, it } from 'vitest';
import '../shim.ts';
import {
  bandLimitedKernel,
  KERNEL_DELAY,
  KERNEL_LENGTH,
} from '../../../src/circuits/dsp/band-limited-kernel';
import { Corrections } from '../../../src/circuits/dsp/corrections';
import { close } from '../../close.ts';
import { powerAt } from '../../fft.ts';
import { STOP_EDGE } from './band-limited-taps.design.ts';

/** As many as the tables have rows. */
const POINTS = 256;
const kernel = bandLimitedKernel(POINTS) as unknown as Float64Array;

/** Gain in dB at a share of the sample rate: the Fourier sum. */
function gain(share: number): number {
  return 10 * Math.log10(powerAt(kernel, share / POINTS));
}

describe('the low-pass impulse', () => {
  it('has unit gain at 0 Hz and its centre of gravity a whole number of samples late', () => {
    let sum = 0;
    let moment = 0;
    kernel.forEach((value, i) => {
      sum += value;
      moment += (value * (i - 0.5)) / POINTS;
    });
    close(sum, 1, { abs: 1e-12, unit: '', why: 'rounding of a sum of some 10,000 doubles' });
    close(moment, KERNEL_DELAY, { abs: 1e-12, unit: 'samples', why: 'as above' });
  });

  it('passes 0 to 18 kHz of 44.1 kHz within 0.5 dB and the lower half within 0.01 dB', () => {
    for (let hertz = 0; hertz <= 18_000; hertz += 100) {
      close(gain(hertz / 44_100), 0, {
        abs: hertz <= 13_000 ? 0.01 : 0.5,
        unit: 'dB',
        why: 'how flat the low-pass is to be',
      });
    }
  });

  it('stops what folds under 20 kHz at 44.1 kHz by 100 dB', () => {
    for (let share = STOP_EDGE; share < 16; share += 0.0101) {
      expect(gain(share)).toBeLessThan(-100);
    }
  });

  it('begins at the event: nine tenths of the step come in the first four samples', () => {
    let sum = 0;
    for (let i = 0; i < 4 * POINTS; i++) sum += kernel[i] as number;
    expect(sum).toBeGreaterThan(0.9);
  });
});

/** A wave smoothed by the impulse, given the wave's integral; `t` in samples since the event. */
function smoothed(integral: (t: number) => number, t: number): number {
  let sum = 0;
  kernel.forEach((value, i) => {
    sum += value * POINTS * (integral(t - (i - 1) / POINTS) - integral(t - i / POINTS));
  });
  return sum;
}

describe('corrections', () => {
  const ramp = (t: number) => Math.max(0, t);
  const parabola = (t: number) => Math.max(0, t) ** 2 / 2;

  // A smoothed step is straight between two rows of the table, so that interpolating is exact; the
  // tolerance is rounding.
  it.each([0, 0.25, 0.3, 0.7778, 0.984375, 1])(
    'make a step %f samples ago, taken late, a smoothed one',
    (since) => {
      const corrections = new Corrections();
      corrections.addStep(0, 1, since);
      for (let n = 0; n < KERNEL_LENGTH + 4; n++) {
        const late = n >= KERNEL_DELAY ? 1 : 0;
        const wanted = smoothed(ramp, n + since);
        close(late + corrections.line[n], wanted, {
          abs: 1e-11,
          unit: '',
          why: 'rounding of six running sums',
        });
      }
    },
  );

  // Between rows the error of a straight line is at most (1/256)^2 / 8 of the steepest slope of the
  // smoothed step, which is under 0.8 a sample.
  it.each([
    [0, 1e-11],
    [0.5, 1e-11],
    [0.3, 1.6e-6],
    [0.7778, 1.6e-6],
  ])('make a corner %f samples ago, taken late, a smoothed one', (since, tolerance) => {
    const corrections = new Corrections();
    corrections.addCorner(0, 1, since);
    for (let n = 0; n < KERNEL_LENGTH + 4; n++) {
      const t = n + since;
      const value = ramp(t - KERNEL_DELAY) + corrections.line[n];
      close(value, smoothed(parabola, t), {
        abs: tolerance,
        unit: '',
        why: 'rounding, or between two points of the table, as above',
      });
    }
  });

  it('add up when events overlap, and leave nothing behind', () => {
    const both = new Corrections();
    const first = new Corrections();
    const second = new Corrections();
    both.addStep(0, 3, 0.2);
    first.addStep(0, 3, 0.2);
    for (let n = 0; n < 100; n++) {
      if (n === 7) {
        both.addCorner(n, -1, 0.9);
        second.addCorner(n, -1, 0.9);
      }
      const sum = first.line[n] + second.line[n];
      close(both.line[n], sum, { abs: 1e-14, unit: '', why: 'rounding of one addition' });
      if (n >= 7 + KERNEL_LENGTH) expect(sum).toBe(0);
    }
  });
});
