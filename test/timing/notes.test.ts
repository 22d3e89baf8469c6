import { describe, expect, it } from 'vitest';
import {
  clockPeriod,
  microsecondsPerQuarter,
  noteOfRate,
  quartersOfNote,
  ratioOfNote,
  secondsPerQuarter,
  stepSeconds,
  swingDelay,
} from '../../src/timing/notes.ts';
import { expected, expectReference, reference } from '../reference.ts';
import { allEdges, pattern, rises, settings } from './build.ts';

const CLOCK = 2 * 2;

describe('note arithmetic', () => {
  it.each(['S-tempo-01', 'S-tempo-02', 'S-tempo-03', 'S-tempo-04'])(
    'gives note lengths: %s',
    (id) => {
      const entry = reference('tempo', id);
      const tempo = entry.inputs.bpm as number;
      for (const [note, ms] of Object.entries(entry.expected as Record<string, number>)) {
        expectReference(1000 * quartersOfNote(note) * secondsPerQuarter(tempo), ms, entry);
      }
    },
  );

  it.each(['S-tempo-05', 'S-tempo-06', 'S-tempo-07'])(
    'gives clock periods, and the clock output keeps them: %s',
    (id) => {
      const entry = reference('tempo', id);
      const tempo = entry.inputs.bpm as number;
      for (const [perQuarter, ms] of Object.entries(entry.expected as Record<string, number>)) {
        const count = Number(perQuarter);
        expectReference(1000 * clockPeriod(tempo, count), ms, entry);
        const swung = settings([pattern(['x---'])], {
          tempo,
          swing: 0.6,
          clock: { count, per: 'quarter' },
        });
        const [, second = 0] = rises(swung, CLOCK, { until: 2 });
        expectReference(1000 * second, ms, entry);
      }
    },
  );

  it('counts clock edges as fence posts: S-tempo-09', () => {
    const entry = reference('tempo', 'S-tempo-09');
    const { bpm: tempo, ppq: count, edge } = entry.inputs as Record<string, number>;
    const song = settings([pattern(['x---'])], {
      tempo: tempo as number,
      clock: { count: count as number, per: 'quarter' },
    });
    const found = rises(song, CLOCK, { until: 2 })[(edge as number) - 1] as number;
    expectReference(found, expected(entry), entry);
  });

  it.each(['S-tempo-10', 'S-tempo-11', 'S-tempo-12'])(
    'delays off-steps by the swing, in the gates as in the formula: %s',
    (id) => {
      const entry = reference('tempo', id);
      const tempo = entry.inputs.bpm as number;
      const expected = Object.values(entry.expected as Record<string, number>);
      (entry.inputs.swing_percent as number[]).forEach((percent, i) => {
        const ms = expected[i] as number;
        const step = stepSeconds(tempo, 4);
        expectReference(1000 * swingDelay(percent / 100, step), ms, entry);
        const swung = settings([pattern(['-x--'])], { tempo, swing: percent / 100 });
        const [off = 0] = rises(swung, 0, { until: 1 });
        expectReference(1000 * (off - step), ms, entry);
      });
    },
  );

  it('rounds each time on its own, so that nothing drifts: S-tempo-13', () => {
    const entry = reference('tempo', 'S-tempo-13');
    const { bpm, fs, steps } = entry.inputs as Record<string, number>;
    const { step, right } = entry.expected as Record<string, number>;
    const tempo = bpm as number;
    expectReference(stepSeconds(tempo, 4) * (fs as number), step as number, entry);
    const song = settings([pattern(['xxxx'])], { tempo });
    const found = allEdges(song, { sampleRate: fs as number, until: 8 }).filter(
      (edge) => edge.output === 0 && edge.volts > 0,
    );
    expect(found[steps as number]?.sample).toBe(right);
  });

  it('puts 6 clocks of 24 per quarter on a sixteenth: S-tempo-14', () => {
    const entry = reference('tempo', 'S-tempo-14');
    const { quarters, clocks } = entry.expected as Record<string, number>;
    const sixteenths = entry.inputs.spp as number;
    expect(sixteenths * quartersOfNote('1/16')).toBe(quarters);
    const song = settings([pattern(['x'.repeat(sixteenths)])], {
      clock: { count: 24, per: 'quarter' },
    });
    const until = sixteenths * stepSeconds(120, 4);
    expect(rises(song, CLOCK, { until })).toHaveLength(clocks as number);
  });

  it('gives the tempo as a MIDI file writes it: S-tempo-16', () => {
    const entry = reference('tempo', 'S-tempo-16');
    const found = microsecondsPerQuarter(expected(entry));
    expectReference(found, entry.inputs.us_per_quarter as number, entry);
  });

  it.each(['1/0', '0/4', '1/8d', '1/8.T', 'quarter', '', '-1/4', '1/4 '])(
    'refuses "%s" as a note value',
    (text) => {
      expect(() => quartersOfNote(text)).toThrow(RangeError);
    },
  );

  it.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])('refuses a tempo of %d', (tempo) => {
    expect(() => secondsPerQuarter(tempo)).toThrow(RangeError);
    expect(() => clockPeriod(120, tempo)).toThrow(RangeError);
    expect(() => stepSeconds(120, tempo)).toThrow(RangeError);
    expect(() => microsecondsPerQuarter(tempo)).toThrow(RangeError);
  });
});

describe('a note value as a fraction of a quarter', () => {
  // Arithmetic: 1/8 is 1/2 of a quarter, dotted 3/4, triplet 1/3.
  it.each([
    ['1/4', 1, 1],
    ['1/8', 1, 2],
    ['1/8.', 3, 4],
    ['1/8T', 1, 3],
    ['1/16T', 1, 6],
    ['3/8', 3, 2],
    ['1/1', 4, 1],
  ])('%s is %i/%i', (note, over, under) => {
    expect(ratioOfNote(note)).toEqual({ over, under });
  });

  it.each(['', '1/0', '0/8', '8', '1/8x', '1/99999'])('refuses "%s"', (note) => {
    expect(() => ratioOfNote(note)).toThrow(RangeError);
  });
});

describe('the note of a rate', () => {
  // MIDI 1.0: the timing clock comes 24 times a quarter, a sixty-fourth triplet (S-tempo-05).
  it.each([
    [1, '1/4'],
    [2, '1/8'],
    [3, '1/8T'],
    [4, '1/16'],
    [24, '1/64T'],
    [48, '1/128T'],
    [2 / 3, '1/4.'],
    [5, '1/20'],
  ])('%d a quarter is %s', (rate, note) => {
    expect(noteOfRate(rate)).toBe(note);
  });

  it('is none for a rate that is no part of a whole note', () => {
    expect(noteOfRate(1.1)).toBeUndefined();
  });
});
