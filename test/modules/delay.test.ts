// Times by deduction: sample index = round(time x rate).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { delay, MOST_IN_FLIGHT } from '../../src/modules/delay.ts';
import { runs } from '../runs.ts';
import { gate, play, pulses, starts } from './gates.ts';
import { solo } from './solo.ts';

describe('delay', () => {
  it('gives a pulse of its length its time after the trigger', () => {
    const circuit = solo(delay, { settings: { time: 0.0203, length: 0.002, level: 8 } });
    const trigger = gate([100], 480);
    const { out } = play(circuit, ['out'], 3000, (n) => [trigger(n)]);
    expect(pulses(out)).toEqual([{ start: 100 + 974, length: 96 }]); // 0.0203 s is 974.4 samples
    expect(Math.max(...out)).toBe(8);
  });

  it('at 0 s answers at the very sample', () => {
    const circuit = solo(delay, { settings: { time: 0, length: 0.0001 } });
    const trigger = gate([4, 20], 3);
    expect(starts(play(circuit, ['out'], 50, (n) => [trigger(n)]).out)).toEqual([4, 20]);
  });

  it('delays every trigger, however many are on their way', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 12, max: 300 }), { maxLength: 40 }),
        fc.integer({ min: 0, max: 4000 }),
        (gaps, late) => {
          let sum = 0;
          const times = gaps.map((gap) => (sum += gap));
          const circuit = solo(delay, { settings: { time: late / 48_000, length: 0.0001 } });
          const trigger = gate(times, 5);
          const { out } = play(circuit, ['out'], sum + late + 1, (n) => [trigger(n)]);
          expect(starts(out)).toEqual(times.map((time) => time + late));
        },
      ),
      runs(20),
    );
  });

  it('keeps as many as it says and loses those beyond', () => {
    const circuit = solo(delay, { settings: { time: 1, length: 0.0001 }, sampleRate: 8000 });
    const { out } = play(circuit, ['out'], 12_000, (n) => [n < 2000 && n % 4 === 0 ? 5 : 0]);
    const expected = Array.from({ length: MOST_IN_FLIGHT }, (_, k) => 8000 + 4 * k);
    expect(starts(out)).toEqual(expected);
  });

  it('goes on without a gap where the next pulse is due', () => {
    const circuit = solo(delay, { settings: { time: 0.001, length: 0.01 } });
    const trigger = gate([0, 200], 20);
    const { out } = play(circuit, ['out'], 1000, (n) => [trigger(n)]);
    expect(pulses(out)).toEqual([{ start: 48, length: 680 }]);
  });
});
