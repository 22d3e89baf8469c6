// The sequential switch by deduction: which way is closed follows from counting clocks and resets.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { sequentialSwitch } from '../../src/modules/sequential-switch.ts';
import { runs } from '../runs.ts';
import { gate } from './gates.ts';
import { Bench, jack } from './harness.ts';

/** Which way is closed at each sample, by the words of the header. */
function ways(
  clocks: readonly number[],
  resets: readonly number[],
  count: number,
  reset: string,
  samples: number,
): number[] {
  let way = 0;
  let isArmed = true;
  return Array.from({ length: samples }, (_, n) => {
    const resetsNow = resets.includes(n);
    if (clocks.includes(n)) {
      way = isArmed || resetsNow ? 0 : (way + 1) % count;
      isArmed = false;
    } else if (resetsNow && reset === 'now') way = 0;
    else if (resetsNow) isArmed = true;
    return way;
  });
}

describe.each(['armed', 'now'])('reset %s', (reset) => {
  it('closes one way after another, one clock each', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 4, max: 30 }), { minLength: 1, maxLength: 14 }),
        fc.array(fc.integer({ min: 20, max: 90 }), { maxLength: 3 }),
        fc.integer({ min: 2, max: 8 }),
        (clockGaps, resetGaps, count) => {
          const times = (gaps: readonly number[]): number[] => {
            let sum = 0;
            return gaps.map((gap) => (sum += gap));
          };
          const [clocks, resets] = [times(clockGaps), times(resetGaps)];
          const samples = 300;
          const wanted = ways(clocks, resets, count, reset, samples);
          const volts = { clock: gate(clocks, 2), reset: gate(resets, 2) };
          const input = (n: number): number => 1 + (n % 7);
          const settings = { ways: count, reset };
          const spread = new Bench(sequentialSwitch, { settings }).run(samples, {
            ...volts,
            in: input,
          });
          for (let k = 0; k < count; k++)
            expect(jack(spread, `out-${k + 1}`)).toEqual(
              Float64Array.from(wanted, (way, n) => (way === k ? input(n) : 0)),
            );
          const inputs = Object.fromEntries(
            Array.from({ length: count }, (_, k) => [`in-${k + 1}`, k + 0.5]),
          );
          const gathered = new Bench(sequentialSwitch, {
            settings: { ...settings, direction: 'many-to-one' },
          }).run(samples, { ...volts, ...inputs });
          expect(jack(gathered, 'out')).toEqual(Float64Array.from(wanted, (way) => way + 0.5));
        },
      ),
      runs(40),
    );
  });
});

it('lets a gate that clocks it through whole, on the way that it goes to', () => {
  const clock = gate([100, 200, 300], 40);
  const out = new Bench(sequentialSwitch, { settings: { ways: 2 } }).run(400, {
    clock,
    in: clock,
  });
  const high = (name: string): number[] =>
    [...jack(out, name)].flatMap((volts, n) => (volts > 0 ? [n] : []));
  const span = (start: number): number[] => Array.from({ length: 40 }, (_, k) => start + k);
  expect(high('out-1')).toEqual([...span(100), ...span(300)]);
  expect(high('out-2')).toEqual(span(200));
});

it('has the jacks of its direction, as many as it has ways', () => {
  const names = (direction: string, ways: number): string =>
    sequentialSwitch
      .jacks({ direction, ways, reset: 'armed' })
      .map(({ name }) => name)
      .join(' ');
  expect(names('one-to-many', 3)).toBe('clock reset in out-1 out-2 out-3');
  expect(names('many-to-one', 2)).toBe('clock reset in-1 in-2 out');
});
