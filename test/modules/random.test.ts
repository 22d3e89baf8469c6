// Moments of the uniform distribution (test/reference/random.json), and the seed's promise.

import { describe, expect, it } from 'vitest';
import { random } from '../../src/modules/random.ts';
import { Bench, Wasm } from '../circuits/bench.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { gate, play } from './gates.ts';
import { type Solo, solo } from './solo.ts';

function seeded(seed: number, settings: object = {}): Solo {
  return solo(random, {
    sampleRate: 8000,
    seed: String(seed),
    settings: { clock: 'own', rate: 1000, range: 1, ...settings },
  });
}

/** The voltages drawn, one a period. */
function drawn(circuit: Solo, count: number): number[] {
  return play(circuit, ['stepped'], 8 * count, () => []).stepped.filter((_, n) => n % 8 === 0);
}

describe('stepped', () => {
  it('S-noise-11: is uniform over its range', () => {
    const { inputs, expected } = reference<
      { N: number },
      { variance: number; mean_abs: number; kurtosis: number }
    >('random', 'S-noise-11');
    const volts = drawn(seeded(1), inputs.N);
    const mean = (of: (v: number) => number) => volts.reduce((sum, v) => sum + of(v), 0) / inputs.N;
    const variance = mean((v) => v * v);
    // Five standard deviations of each on 48000 values: the reference's own tolerances.
    close(variance, expected.variance, {
      rel: 0.0204,
      unit: '',
      why: "five standard deviations of 48,000 values: the reference's own tolerance",
    });
    close(mean(Math.abs), expected.mean_abs, {
      rel: 0.0132,
      unit: '',
      why: "five standard deviations of 48,000 values: the reference's own tolerance",
    });
    const kurtosis = mean((v) => v * v * v * v) / (variance * variance);
    close(kurtosis, expected.kurtosis, {
      abs: 0.0262,
      unit: '',
      why: "five standard deviations of 48,000 values: the reference's own tolerance",
    });
    // The mean's standard deviation is 0.577 / sqrt(N); five of them.
    close(
      mean((v) => v),
      0,
      {
        abs: (5 * 0.57735) / Math.sqrt(inputs.N),
        unit: '',
        why: 'five standard deviations: 0.577 / sqrt(N) each',
      },
    );
    // Neighbours are independent: their product's is 1/3 / sqrt(N).
    const products = volts.slice(1).reduce((sum, v, k) => sum + v * (volts[k] as number), 0);
    close(products / inputs.N, 0, {
      abs: 5 / 3 / Math.sqrt(inputs.N),
      unit: '',
      why: 'five standard deviations of a product of neighbours: 1/3 / sqrt(N) each',
    });
  });

  it('scales to the range', () => {
    const volts = drawn(seeded(1), 2000);
    expect(drawn(seeded(1, { range: 4 }), 2000)).toEqual(volts.map((v) => 4 * v));
  });

  it('is the same for the same seed and another for another', () => {
    expect(drawn(seeded(5), 20)).toEqual(drawn(seeded(5), 20));
    expect(drawn(seeded(5), 20)).not.toEqual(drawn(seeded(6), 20));
  });

  it('draws as late though blocks in between are passed over', () => {
    const values = { clock: 'own', rate: 60, range: 1 };
    const bench = new Bench(new Wasm(true), random, {
      ...{ sampleRate: 48_000, values, patched: ['stepped'] },
    });
    const { stepped = new Float64Array() } = bench.run(20, {});
    const changes = [...stepped.keys()].filter((n) => n > 0 && stepped[n] !== stepped[n - 1]);
    // Every 800 samples, which is six blocks of 128 and a bit.
    expect(changes).toEqual([800, 1600, 2400]);
  });

  it('draws at its own clock, each time worked out from the start', () => {
    const { stepped } = play(seeded(1, { rate: 3 }), ['stepped'], 8001, () => []);
    const changes = stepped.flatMap((v, n) => (n > 0 && v !== stepped[n - 1] ? [n] : []));
    expect(changes).toEqual([2667, 5333, 8000]); // round(k 8000 / 3)
  });

  it('or at each trigger, and at nothing else', () => {
    const trigger = gate([10, 100, 101 + 10], 5);
    const circuit = solo(random, { settings: { clock: 'trigger' } });
    const { stepped } = play(circuit, ['stepped'], 300, (n) => [trigger(n)]);
    const changes = stepped.flatMap((v, n) => (v !== (stepped[n - 1] ?? 0) ? [n] : []));
    expect(changes).toEqual([10, 100, 111]);
  });
});

describe('smooth', () => {
  it('reaches each voltage just as the next one is drawn, with a steady clock', () => {
    const { stepped, smooth } = play(
      seeded(3, { rate: 40 }),
      ['stepped', 'smooth'],
      4000,
      () => [],
    );
    for (let n = 199; n < 4000; n += 200) {
      close(smooth[n], stepped[n] as number, {
        abs: 2e-4,
        unit: 'V',
        why: 'the last sample before a step is one 200th short of it: 3 x^2 there is 7.5e-5 of the way',
      });
      if (n + 1 < 4000) expect(smooth[n + 1]).toBe(stepped[n]);
    }
  });

  it('has no jump: its slope is at most 3/2 of the step over the time', () => {
    const { smooth } = play(seeded(3, { rate: 40 }), ['smooth'], 4000, () => []);
    const steepest = Math.max(
      ...smooth.slice(1).map((v, n) => Math.abs(v - (smooth[n] as number))),
    );
    expect(steepest).toBeLessThan((1.5 * 2) / 200);
  });

  it('takes as long as the last step took, between triggers', () => {
    const trigger = gate([0, 400], 5);
    const circuit = solo(random, { settings: { clock: 'trigger' } });
    const { stepped, smooth } = play(circuit, ['stepped', 'smooth'], 1000, (n) => [trigger(n)]);
    const [from, to] = [smooth[400] as number, stepped[400] as number];
    expect(smooth[799]).not.toBe(to);
    expect(smooth.slice(800).every((v) => v === to)).toBe(true);
    // Halfway in time is halfway in volts, by the curve's symmetry; 1e-12 V is rounding.
    close(smooth[600], (from + to) / 2, { abs: 1e-12, unit: 'V', why: 'rounding' });
    // Level at both ends: slope 6 x (1 - x), so within 3 x^2 of a small part x of the way.
    const way = (sample: number): number => ((smooth[sample] as number) - from) / (to - from);
    expect(way(404)).toBeGreaterThan(0);
    expect(way(404)).toBeLessThan(3 * 0.01 ** 2);
    expect(1 - way(796)).toBeLessThan(3 * 0.01 ** 2);
  });
});
