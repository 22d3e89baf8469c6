// Truth tables of counting, written out: clock 1 is the first, and the first after a reset.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clockDivider } from '../../src/modules/clock-divider.ts';
import { runs } from '../runs.ts';
import { gate, play, pulses, starts } from './gates.ts';
import { solo } from './solo.ts';

const OUTPUTS = ['divided', 'by2', 'by3', 'by4', 'by8', 'multiplied'] as const;

/** Which of the clocks, 100 samples apart and 30 long, each output answers: x or -. */
function answers(clocks: number, resets: readonly number[], settings: object) {
  const times = Array.from({ length: clocks }, (_, k) => 100 * k);
  const [clock, reset] = [gate(times, 30), gate(resets, 10)];
  const circuit = solo(clockDivider, { settings: { ...settings } });
  const out = play(circuit, OUTPUTS, 100 * clocks, (n) => [clock(n), reset(n)]);
  return Object.fromEntries(
    OUTPUTS.map((field) => {
      for (const { length } of field === 'multiplied' ? [] : pulses(out[field]))
        expect(length).toBe(30);
      return [field, times.map((time) => (out[field][time] === 6 ? 'x' : '-')).join('')];
    }),
  );
}

describe('clock divider', () => {
  it('answers the first clock and every nth after it, as long as the clock is', () => {
    expect(answers(17, [], { divide: 5, level: 6 })).toMatchObject({
      divided: 'x----x----x----x-',
      by2: 'x-x-x-x-x-x-x-x-x',
      by3: 'x--x--x--x--x--x-',
      by4: 'x---x---x---x---x',
      by8: 'x-------x-------x',
    });
  });

  it('counts from one again after a reset, wherever it comes', () => {
    expect(answers(10, [450], { divide: 5, level: 6 })).toMatchObject({
      divided: 'x----x----',
      by2: 'x-x-xx-x-x',
      by3: 'x--x-x--x-',
      by4: 'x---xx---x',
      by8: 'x----x----',
    });
  });

  it('takes a clock at the same sample as the reset for number one', () => {
    expect(answers(6, [200], { divide: 4, level: 6 })).toMatchObject({
      divided: 'x-x---',
      by4: 'x-x---',
    });
  });

  it('divides by any number', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 64 }), (divide) => {
        const { divided } = answers(70, [], { divide, level: 6 });
        expect(divided).toBe(
          Array.from({ length: 70 }, (_, k) => (k % divide === 0 ? 'x' : '-')).join(''),
        );
      }),
      runs(10),
    );
  });
});

describe('clock multiplier', () => {
  function multiplied(clocks: readonly number[], multiply: number, length: number) {
    const clock = gate(clocks, 30);
    const circuit = solo(clockDivider, { settings: { multiply } });
    return pulses(play(circuit, ['multiplied'], length, (n) => [clock(n), 0]).multiplied);
  }

  it('is silent for one period, then divides each by the one before, half of it high', () => {
    // Each falls at round(25 k + 12.5), 13 samples after it rose.
    expect(multiplied([0, 100, 200], 4, 290)).toEqual(
      [100, 125, 150, 175, 200, 225, 250, 275].map((start) => ({ start, length: 13 })),
    );
  });

  it('is silent until the second clock, however late the first', () => {
    expect(multiplied([], 4, 300)).toEqual([]);
    const starts = multiplied([77, 177], 2, 270).map(({ start }) => start);
    expect(starts).toEqual([177, 227]);
  });

  it('divides periods that are no multiple evenly, without adding up errors', () => {
    const found = multiplied([0, 101], 7, 202).map(({ start }) => start);
    expect(found).toEqual([0, 1, 2, 3, 4, 5, 6].map((k) => 101 + Math.round((k * 101) / 7)));
  });

  it('follows a clock that changes, one period late', () => {
    const found = multiplied([0, 100, 300, 400], 2, 600).map(({ start }) => start);
    // At 300 the last period was 200; the clock of 400 comes just when its second pulse is due.
    expect(found).toEqual([100, 150, 300, 400, 450]);
  });

  it('stops when the clock stops', () => {
    const found = multiplied([0, 100], 3, 5000).map(({ start }) => start);
    expect(found).toEqual([100, 133, 167]);
  });

  it('goes through a reset', () => {
    const [clock, reset] = [gate([0, 100, 200], 30), gate([110], 10)];
    const circuit = solo(clockDivider, { settings: { multiply: 2 } });
    const { multiplied } = play(circuit, ['multiplied'], 290, (n) => [clock(n), reset(n)]);
    expect(starts(multiplied)).toEqual([100, 150, 200, 250]);
  });
});
