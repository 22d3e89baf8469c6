// The loop against the response of four one-poles with feedback (test/reference/ladder.json) and its
// oscillation against control theory. Small signals: the clip takes 1e-12 of them.

import { describe, expect, it } from 'vitest';
import '../shim.ts';
import { LadderLoop } from '../../../src/circuits/dsp/ladder-loop';
import { close } from '../../close.ts';
import { type Entry, expected, reference } from '../../reference.ts';

const RATE = 48_000;
const PUSH = 1e-6;

function loop(cutoff: number, feedback: number, rate = RATE): LadderLoop {
  const made = new LadderLoop();
  made.tune(Math.tan((Math.PI * cutoff) / rate), feedback);
  return made;
}

/** What comes out after a push at the first sample, for a push of 1. */
function response(made: LadderLoop, samples: number): Float64Array {
  const line = new StaticArray<number>(samples);
  line[0] = PUSH;
  made.run(line, 0, samples);
  return new Float64Array(samples).map((_, n) => line[n] / PUSH);
}

function decibels(signal: Float64Array, hertz: number): number {
  let re = 0;
  let im = 0;
  signal.forEach((value, n) => {
    re += value * Math.cos((2 * Math.PI * hertz * n) / RATE);
    im += value * Math.sin((2 * Math.PI * hertz * n) / RATE);
  });
  return 10 * Math.log10(re * re + im * im);
}

function frequencies(entry: Entry): number[] {
  return Object.keys(entry.expected).map(Number).filter(Number.isFinite);
}

describe('the response', () => {
  it.each(['S-filter-16', 'S-filter-18', 'S-filter-20'])(
    'is the bilinear transform of a loop without delay (%s)',
    (id) => {
      const entry = reference('ladder', id);
      const h = response(loop(Number(entry.inputs.f0), Number(entry.inputs.k)), 8192);
      for (const hertz of frequencies(entry)) {
        close(decibels(h, hertz), expected(entry, `${hertz}`), {
          abs: 0.001,
          unit: 'dB',
          why: "the reference's own: exact for a loop without delay",
        });
      }
    },
  );

  it('S-filter-14: is 12.04 dB down at the cutoff without feedback', () => {
    const entry = reference('ladder', 'S-filter-14');
    close(decibels(response(loop(1000, 0), 8192), 1000), expected(entry, 'dB_at_fc'), {
      abs: 1e-6,
      unit: 'dB',
      why: 'prewarping makes the cutoff exact',
    });
  });
});

describe('oscillation', () => {
  /** Peak in the last tenth over the peak in the tenth before it. */
  function growth(feedback: number, cutoff: number): number {
    const h = response(loop(cutoff, feedback), 20_000);
    const peak = (from: number, to: number): number => Math.max(...h.slice(from, to).map(Math.abs));
    return peak(18_000, 20_000) / peak(16_000, 18_000);
  }

  it.each([60, 1000, 8000])('begins at k = 4, here at a cutoff of %d Hz', (cutoff) => {
    expect(growth(3.99, cutoff)).toBeLessThan(1);
    expect(growth(4.01, cutoff)).toBeGreaterThan(1);
  });

  it('S-filter-21: does not begin where a loop with a sample of delay would', () => {
    const delayed = reference('ladder', 'S-filter-21');
    const k = expected(delayed, 'k_critical');
    expect(k).toBeLessThan(3.6);
    expect(growth(k + 0.1, 1000)).toBeLessThan(1);
  });
});
