// Order of steps by deduction from the meanings of reset (the design, section 4); notes against
// equal temperament (test/reference/pitch.json).

import { describe, expect, it } from 'vitest';
import { sequenceLength, shiftedStep, stepSequencer } from '../../src/modules/step-sequencer.ts';
import { reference } from '../reference.ts';
import { gate, play, pulses } from './gates.ts';
import { solo } from './solo.ts';

/** 1 ms at 48 kHz: a clock is noticed when it has lasted this long, at its 48th sample. */
const LATE = 47;
const ROW = [1, 2, 3, 4, 5];

interface Run {
  clocks: readonly number[];
  resets?: readonly number[];
  shift?: (n: number) => number;
  settings?: object;
}

function run({ clocks, resets = [], shift = () => 0, settings = {} }: Run, length: number) {
  const [clock, reset] = [gate(clocks, 240), gate(resets, 240)];
  const circuit = solo(stepSequencer, { settings: { 'row-a': ROW, ...settings } });
  return play(circuit, ['a', 'b', 'gate', 'first'], length, (n) => [clock(n), reset(n), shift(n)]);
}

const every = (count: number): number[] => Array.from({ length: count }, (_, k) => 1000 * k + 500);

/** Row a's steps after each clock. */
function steps(of: Run): string {
  const { a } = run(of, (of.clocks.at(-1) as number) + 500);
  return of.clocks.map((time) => a[time + LATE]).join('');
}

describe('step sequencer', () => {
  it('lands on step 1 with the first clock, and comes round', () => {
    expect(steps({ clocks: every(12) })).toBe('123451234512');
    expect(steps({ clocks: every(7), settings: { steps: 3 } })).toBe('1231231');
    // A shorter row repeats.
    expect(steps({ clocks: every(9), settings: { steps: 7 } })).toBe('123451212');
  });

  it('has as many steps as its longest row unless told', () => {
    const settings = { gates: [1, 0, 1, 1, 0, 1] };
    expect(steps({ clocks: every(8), settings })).toBe('12345112');
    expect(sequenceLength(0, [[1], [1, 2, 3], [1, 1]])).toBe(3);
    expect(sequenceLength(2, [[1], [1, 2, 3], [1, 1]])).toBe(2);
  });

  it('moves when the clock is noticed, and holds', () => {
    const { a } = run({ clocks: every(2) }, 2000);
    expect([a[0], a[499], a[1500 + LATE - 1], a[1500 + LATE], a[1999]]).toEqual([1, 1, 1, 2, 2]);
  });

  it('plays both rows side by side', () => {
    const { a, b } = run({ clocks: every(3), settings: { 'row-b': [-1, -2] } }, 3000);
    expect(every(3).map((time) => [a[time + LATE], b[time + LATE]])).toEqual([
      [1, -1],
      [2, -2],
      [3, -1],
    ]);
  });

  it('S-pitch-01: gives notes at a twelfth of a volt a semitone', () => {
    const { expected } = reference<unknown, Record<string, number>>('pitch', 'S-pitch-01');
    // C2, A2, C4, A4 as the reader of patches gives them: semitones from C2 over twelve.
    const notes = [36, 45, 60, 69];
    const row = notes.map((note) => (note - 36) / 12);
    const { a } = run({ clocks: every(4), settings: { 'row-a': row } }, 4000);
    every(4).forEach((time, k) => {
      const hertz = 440 * 2 ** (-33 / 12 + (a[time + LATE] as number));
      // The reference's tolerance: 1e-9 of the value.
      expect(Math.abs(hertz / (expected[String(notes[k])] as number) - 1)).toBeLessThan(1e-9);
    });
  });

  it('gives a gate as long as the clock is on, on steps that have one', () => {
    const { gate: out } = run({ clocks: every(6), settings: { gates: [1, 0, 1], level: 8 } }, 7000);
    expect(pulses(out)).toEqual(
      [0, 2, 3, 5].map((k) => ({ start: every(6)[k]! + LATE, length: 240 - LATE })),
    );
    expect(Math.max(...out)).toBe(8);
  });

  it('gives a pulse at step 1', () => {
    const { first } = run({ clocks: every(7) }, 8000);
    expect(pulses(first).map(({ start }) => start - LATE)).toEqual([500, 5500]);
  });
});

describe('reset', () => {
  it('armed: the next clock lands on step 1, and nothing moves till then', () => {
    const of = { clocks: every(6), resets: [2900] };
    expect(steps(of)).toBe('123123');
    expect(run(of, 6000).a[3499]).toBe(3);
  });

  it('armed: a reset noticed as the clock goes off leaves the gate no longer than the clock', () => {
    const { gate: high } = run({ clocks: [500], resets: [500 + 240 - LATE] }, 2000);
    expect(pulses(high)).toEqual([{ start: 500 + LATE, length: 240 - LATE }]);
  });

  it('now: step 1 at once, and the next clock lands on step 2', () => {
    const of = { clocks: every(6), resets: [2900], settings: { reset: 'now' } };
    expect(steps(of)).toBe('123234');
    const { a } = run(of, 6000);
    expect([a[2900 + LATE - 1], a[2900 + LATE]]).toEqual([3, 1]);
  });

  it('now: before the first clock it changes nothing', () => {
    expect(steps({ clocks: every(3), resets: [100], settings: { reset: 'now' } })).toBe('123');
  });

  it.each(['armed', 'now'])('%s: at the same sample as a clock, that clock is step 1', (reset) => {
    expect(steps({ clocks: every(6), resets: [3500], settings: { reset } })).toBe('123123');
    expect(steps({ clocks: every(3), resets: [500], settings: { reset } })).toBe('123');
  });

  it('within the settling time, order of arrival decides', () => {
    // 0.3 ms before or after the fourth clock: 14 samples, inside the 0.5 ms in which they race.
    expect(steps({ clocks: every(6), resets: [3486] })).toBe('123123');
    expect(steps({ clocks: every(6), resets: [3514] })).toBe('123412');
    expect(steps({ clocks: every(6), resets: [3486], settings: { reset: 'now' } })).toBe('123234');
    // The clock's own sample shows step 4; 14 samples later it is step 1.
    const after = { clocks: every(6), resets: [3514], settings: { reset: 'now' } };
    expect(steps(after)).toBe('123423');
    expect(run(after, 6000).a[3514 + LATE]).toBe(1);
  });

  it('now: gives the gate of step 1 while the clock is still high', () => {
    const of = { clocks: every(2), resets: [1600], settings: { reset: 'now', gates: [1, 0] } };
    // The second clock is high until 1740; the reset is noticed at 1647.
    expect(pulses(run(of, 3000).gate)).toEqual([
      { start: 547, length: 193 },
      { start: 1647, length: 93 },
    ]);
  });
});

describe('shift', () => {
  it('plays a step further on for each volt, modulo the steps', () => {
    expect(steps({ clocks: every(6), shift: () => 2 })).toBe('345123');
    expect(steps({ clocks: every(6), shift: () => -1 })).toBe('512345');
    expect(shiftedStep(3, 12, 5)).toBe(0);
    expect(shiftedStep(0, -12, 5)).toBe(3);
  });

  it('rounds to whole steps', () => {
    expect([0.49, 0.5, -0.49, -0.51].map((v) => shiftedStep(0, v, 5))).toEqual([0, 1, 0, 4]);
  });

  it('is read at the clock, so a wavering shift does not waver the pitch', () => {
    const { a } = run({ clocks: every(1), shift: (n) => (n % 2) * 3 }, 1500);
    expect(new Set(a.slice(500 + LATE)).size).toBe(1);
  });

  it('leaves position 1 where it was', () => {
    const { first } = run({ clocks: every(6), shift: () => 2 }, 7000);
    expect(pulses(first).map(({ start }) => start - LATE)).toEqual([500, 5500]);
  });
});

it('tells the electricity the range of its rows, held against any load', () => {
  const values = { 'row-a': [1, -2, 3], 'row-b': [0], gates: [1], level: 5 };
  const jack = stepSequencer.jacks(values).find(({ name }) => name === 'a');
  expect(jack).toMatchObject({ facts: { type: 'voltage', low: -2, high: 3, ohms: 0 } });
});
