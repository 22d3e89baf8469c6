import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mixer } from '../../src/modules/mixer.ts';
import { close } from '../close.ts';
import { Bench, jack } from './harness.ts';

const NUMBERS = [1, 2, 3, 4, 5, 6, 7, 8];
const named = (prefix: string, values: readonly number[]): Record<string, number> =>
  Object.fromEntries(values.map((value, k) => [`${prefix}-${k + 1}`, value]));

function out(levels: readonly number[], volts: readonly number[]): number {
  const settings = named('level', levels);
  const bench = new Bench(mixer, { sampleRate: 48_000, settings });
  return jack(bench.run(1, named('in', volts)), 'out')[0] as number;
}

describe('the mixer', () => {
  it('adds its inputs as they are unless set otherwise', () => {
    expect(out([], [1, 2, 0.5])).toBe(3.5);
    expect(out([], [])).toBe(0);
  });

  it.each(NUMBERS)('gives input %i its own level', (number) => {
    const levels = NUMBERS.map((n) => (n === number ? -1.5 : 0.25));
    const alone = NUMBERS.map((n) => (n === number ? 4 : 0));
    expect(out(levels, alone)).toBe(-6);
  });

  it('gives the weighted sum, stopped at the rails (independent recomputation)', () => {
    const eight = (most: number) =>
      fc.array(fc.double({ min: -most, max: most, noNaN: true }), { minLength: 8, maxLength: 8 });
    fc.assert(
      fc.property(eight(2), eight(12), (levels, volts) => {
        const sum = levels.reduce((total, level, k) => total + level * (volts[k] as number), 0);
        const wanted = Math.max(-12, Math.min(12, sum));
        close(out(levels, volts), wanted, { abs: 1e-12, unit: 'V', why: 'order of additions' });
      }),
    );
    expect(out([2, 2], [12, 12])).toBe(12);
    expect(out([-2, 2], [12, -12])).toBe(-12);
  });

  it('says which parts its sum has, as it adds them', () => {
    const levels = [0.1, -0.2, 0.3, -0.4, 0.5, -0.6, 0.7, -0.8];
    const parts = mixer.sums?.(named('level', levels)) ?? [];
    expect(parts).toHaveLength(8);
    for (const { output, input, gain } of parts) {
      expect(output).toBe('out');
      const bench = new Bench(mixer, { sampleRate: 48_000, settings: named('level', levels) });
      expect(jack(bench.run(1, { [input]: 1 }), 'out')[0]).toBe(gain);
    }
  });
});
