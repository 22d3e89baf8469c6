// Order of steps by deduction from the meanings of reset (the design, section 4); notes against
// equal temperament (test/reference/pitch.json).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cycleLength, stepSequencer } from '../../src/modules/step-sequencer.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { runs } from '../runs.ts';
import { gate, play, pulses } from './gates.ts';
import { solo } from './solo.ts';

/** 1 ms at 48 kHz: a clock is noticed when it has lasted this long, at its 48th sample. */
const LATE = 47;
const ROW = [1, 2, 3, 4, 5];

interface Run {
  clocks: readonly number[];
  resets?: readonly number[];
  offset?: (n: number) => number;
  rows?: Readonly<Record<string, readonly number[]>>;
  settings?: object;
}

/** By jack; those of the row `a` and of `b` where there is one. */
type Volts = Readonly<Record<'a' | 'b' | 'gate' | 'first', number[]>> &
  Readonly<Record<string, number[]>>;

function run(
  { clocks, resets = [], offset = () => 0, rows = { a: ROW }, settings = {} }: Run,
  length: number,
): Volts {
  const [clock, reset] = [gate(clocks, 240), gate(resets, 240)];
  const named = Object.entries(rows).map(([name, values]) => ({ name, values }));
  const circuit = solo(stepSequencer, { settings: { rows: named, ...settings } });
  const jacks = [...Object.keys(rows), 'gate', 'first'];
  return play(circuit, jacks, length, (n) => [clock(n), reset(n), offset(n)]) as Volts;
}

const every = (count: number): number[] => Array.from({ length: count }, (_, k) => 1000 * k + 500);

/** A row's steps after each clock. */
function steps(of: Run, row = 'a'): string {
  const volts = run(of, (of.clocks.at(-1) as number) + 500)[row];
  return of.clocks.map((time) => volts?.[time + LATE]).join('');
}

describe('step sequencer', () => {
  it('lands on step 1 with the first clock, and comes round', () => {
    expect(steps({ clocks: every(12) })).toBe('123451234512');
    expect(steps({ clocks: every(7), settings: { steps: 3 } })).toBe('1231231');
    // A shorter row repeats.
    expect(steps({ clocks: every(9), settings: { steps: 7 } })).toBe('123451212');
  });

  it('lets each row go round by itself, until all are at their first step again', () => {
    const rows = { a: [1, 2, 3], b: [6, 7, 8, 9] };
    const of = { clocks: every(14), rows, settings: { gates: [1, 0] } };
    expect(steps(of)).toBe('12312312312312');
    expect(steps(of, 'b')).toBe('67896789678967');
    const { gate: high, first } = run(of, 15_000);
    const starts = (out: readonly number[]) =>
      pulses(out).map(({ start }) => (start - LATE - 500) / 1000);
    expect(starts(high)).toEqual([0, 2, 4, 6, 8, 10, 12]);
    // 12 is the least common multiple of 3, 4 and 2.
    expect(starts(first)).toEqual([0, 12]);
    expect(cycleLength(0, [3, 4, 2])).toBe(12);
  });

  it('begins all rows again after so many steps, wherever they are', () => {
    const rows = { a: [1, 2, 3], b: [6, 7, 8, 9] };
    const of = { clocks: every(11), rows, settings: { steps: 5 } };
    expect(steps(of)).toBe('12312123121');
    expect(steps(of, 'b')).toBe('67896678966');
    expect(cycleLength(5, [3, 4])).toBe(5);
  });

  it('sends all rows to their first step by a reset', () => {
    const rows = { a: [1, 2, 3], b: [6, 7, 8, 9] };
    const of = { clocks: every(9), resets: [4900], rows };
    expect(steps(of)).toBe('123121231');
    expect(steps(of, 'b')).toBe('678966789');
  });

  it('goes on rightly where a cycle is longer than 2^31 clocks', () => {
    // Lengths whose least common multiple is 2^5 * 27 * 25 * 7 * 11 * 13 * 17 * 19 * 23 * 29 * 31.
    const lengths = [32, 27, 25, 7, 11, 13, 17, 19, 23, 29, 31];
    expect(cycleLength(0, lengths)).toBe(144_403_552_893_600);
    const rows = Object.fromEntries(
      lengths.map((length) => [`of${length}`, Array.from({ length }, (_, k) => k / 10)]),
    );
    // One step back from the first is the last of every row.
    const out = run({ clocks: every(1), rows, offset: () => -1 }, 1000);
    for (const length of lengths) expect(out[`of${length}`]?.[999]).toBe((length - 1) / 10);
  });

  it('plays any rows as an independent count of clocks and resets has it', () => {
    const row = fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 1, maxLength: 32 });
    fc.assert(
      fc.property(
        fc.array(row, { minLength: 1, maxLength: 16 }),
        fc.integer({ min: 0, max: 40 }),
        fc.integer({ min: -12, max: 12 }),
        fc.array(fc.boolean(), { minLength: 1, maxLength: 40 }),
        (values, cycle, offset, resetBefore) => {
          const rows = Object.fromEntries(values.map((one, k) => [`row${k}`, one]));
          const clocks = every(resetBefore.length);
          const resets = clocks.flatMap((time, k) => (resetBefore[k] ? [time - 400] : []));
          const settings = { steps: cycle };
          const out = run(
            { clocks, resets, rows, offset: () => offset, settings },
            clocks.length * 1000 + 400,
          );
          let since = -1;
          for (const [k, time] of clocks.entries()) {
            since = resetBefore[k] ? 0 : since + 1;
            const position = cycle > 0 ? since % cycle : since;
            for (const [name, one] of Object.entries(rows)) {
              const length = cycle > 0 ? cycle : one.length;
              const played = (((position + offset) % length) + length) % length;
              expect(out[name]?.[time + LATE]).toBe(one[played % one.length]);
            }
          }
        },
      ),
      runs(20),
    );
  });

  it('moves when the clock is noticed, and holds', () => {
    const { a } = run({ clocks: every(2) }, 2000);
    expect([a[0], a[499], a[1500 + LATE - 1], a[1500 + LATE], a[1999]]).toEqual([1, 1, 1, 2, 2]);
  });

  it('plays both rows side by side', () => {
    const { a, b } = run({ clocks: every(3), rows: { a: ROW, b: [-1, -2] } }, 3000);
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
    const { a } = run({ clocks: every(4), rows: { a: row } }, 4000);
    every(4).forEach((time, k) => {
      const hertz = 440 * 2 ** (-33 / 12 + (a[time + LATE] as number));
      close(hertz, expected[String(notes[k])] as number, {
        rel: 1e-9,
        unit: '',
        why: "the reference's own tolerance",
      });
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

describe('offset', () => {
  it('plays a step further on for each volt, modulo the steps', () => {
    expect(steps({ clocks: every(6), offset: () => 2 })).toBe('345123');
    expect(steps({ clocks: every(6), offset: () => -1 })).toBe('512345');
    expect(steps({ clocks: every(6), offset: () => 12 })).toBe('345123');
    expect(steps({ clocks: every(6), offset: () => -12 })).toBe('451234');
  });

  it('rounds to whole steps', () => {
    const starts = [0.49, 0.5, -0.49, -0.51].map((volts) =>
      steps({ clocks: every(1), offset: () => volts }),
    );
    expect(starts).toEqual(['1', '2', '1', '5']);
  });

  it('is read at the clock, so a wavering offset does not waver the pitch', () => {
    const { a } = run({ clocks: every(1), offset: (n) => (n % 2) * 3 }, 1500);
    expect(new Set(a.slice(500 + LATE)).size).toBe(1);
  });

  it('leaves position 1 where it was', () => {
    const { first } = run({ clocks: every(6), offset: () => 2 }, 7000);
    expect(pulses(first).map(({ start }) => start - LATE)).toEqual([500, 5500]);
  });
});

it('tells the electricity the range of its rows, held against any load', () => {
  const rows = [{ name: 'pitch', values: [1, -2, 3] }];
  const values = { rows, gates: [1], level: 5 };
  const jack = stepSequencer.jacks(values).find(({ name }) => name === 'pitch');
  expect(jack).toMatchObject({ facts: { type: 'voltage', low: -2, high: 3, ohms: 0 } });
});
