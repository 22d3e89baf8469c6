import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { barTimes, secondsOfBars, songSeconds } from '../../src/timing/song.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { allEdges, pattern, rises, settings } from './build.ts';

const RUN = 5;
const CLOCK = 4;

describe('the song', () => {
  // 16 sixteenths at 120 bpm last 2 s; 9 triplet steps at 90 bpm are three quarters and last 2 s.
  const long = pattern(['x---------------']);
  const odd = pattern(['x--------'], { name: 'odd', stepsPerQuarter: 3, tempo: 90 });
  const song = settings([long, odd], {
    song: [
      { pattern: 0, repeats: 2 },
      { pattern: 1, repeats: 1 },
    ],
  });

  it('lasts as long as its patterns at their tempos', () => {
    expect(songSeconds(song)).toBe(6);
    expect(songSeconds({ ...song, song: [] })).toBe(0);
  });

  it('changes tempo at the first step of a pattern exactly, and repeats', () => {
    expect(rises(song, 0, { until: 14 })).toEqual([0, 2, 4, 6, 8, 10, 12]);
  });

  it('counts bars through tempo changes from the start of the performance', () => {
    const bar = barTimes(song);
    // 11 quarters a pass. Bar 3 starts at quarter 8, where the pattern of 90 bpm does; bar 4 at
    // quarter 12, one quarter of 0.5 s into the second pass.
    expect([1, 2, 3, 4, 5].map(bar)).toEqual([0, 2, 4, 6.5, 8.5]);
    expect(secondsOfBars(song, 3)).toBe(6.5);
    expect(secondsOfBars(song, 0)).toBe(0);
    expect(() => bar(0)).toThrow(RangeError);
    expect(() => bar(1.5)).toThrow(RangeError);
    expect(() => bar(Number.NaN)).toThrow(RangeError);
  });

  it('counts the bars of a song without a step at the tempo of the module', () => {
    expect(barTimes({ ...song, song: [], 'beats-per-bar': 3 })(3)).toBe(3);
  });

  it('names the bar and the step of each edge', () => {
    const places = allEdges(song, { until: 8 })
      .filter(({ output, volts }) => output === 0 && volts > 0)
      .map(({ bar, step }) => [bar, step]);
    // The last is at quarter 11, in bar 3, which starts at quarter 8.
    expect(places).toEqual([
      [1, 1],
      [2, 1],
      [3, 1],
      [3, 1],
    ]);
    const clocks = allEdges(song, { until: 8 }).filter((e) => e.output === CLOCK && e.volts > 0);
    expect(clocks.slice(31, 35).map(({ bar, step }) => [bar, step])).toEqual([
      [2, 16],
      [3, 1],
      [3, 2],
      [3, 3],
    ]);
  });

  it('agrees with the edges on where bars start', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 30, max: 300 }), fc.integer({ min: 1, max: 3 })), {
          minLength: 1,
          maxLength: 4,
        }),
        fc.integer({ min: 1, max: 5 }),
        (entries, beats) => {
          // A stroke a quarter: its first in a bar is the bar's start.
          const quarters = pattern(['xxx'], { stepsPerQuarter: 1 });
          const some = settings([quarters], {
            song: entries.map(([tempo, repeats]) => ({ pattern: 0, repeats, tempo })),
            'beats-per-bar': beats,
          });
          const bar = barTimes(some);
          const starts = allEdges(some, { until: 20 }).filter(
            (edge, i, all) =>
              edge.output === 0 &&
              edge.volts > 0 &&
              !all.slice(0, i).some((e) => e.output === 0 && e.bar === edge.bar),
          );
          expect(starts.length).toBeGreaterThan(0);
          for (const edge of starts)
            close(edge.time, bar(edge.bar), { abs: 5e-11, unit: 's', why: 'rounding' });
        },
      ),
      runs(50),
    );
  });

  it('lets the narrowest setting win: entry, then pattern, then module', () => {
    const from = (more: object, entry: object) =>
      rises(
        settings([pattern(['xx'], more)], {
          tempo: 60,
          swing: 0.5,
          song: [{ pattern: 0, repeats: 1, ...entry }],
        }),
        0,
        { until: 0.5 },
      );
    expect(from({}, {})).toEqual([0, 0.25]);
    expect(from({ tempo: 120 }, {})).toEqual([0, 0.125, 0.25, 0.375]);
    expect(from({ tempo: 120 }, { tempo: 75 })).toEqual([0, 0.2, 0.4]);
    expect(from({ swing: 0.6 }, {})).toEqual([0, 0.3]);
    expect(from({ swing: 0.6 }, { swing: 0.7 })).toEqual([0, 0.35]);
    const swung = pattern(['xx'], { swing: 0.6 });
    const own = { ...swung, lines: swung.lines.map((line) => ({ ...line, swing: 0.74 })) };
    expect(from(own, { swing: 0.7 })).toEqual([0, 0.37]);
  });

  it('leaves the lone last step of an odd pattern straight', () => {
    const three = settings([pattern(['xxx'])], { swing: 0.6 });
    expect(rises(three, 0, { until: 0.75 })).toEqual([0, 0.15, 0.25, 0.375, 0.525, 0.625]);
  });

  it('gives only run and start where there is no step to play', () => {
    const silent = { ...song, song: [] };
    expect(allEdges(silent, { until: 1 }).map(({ sample, output }) => [sample, output])).toEqual([
      [0, 5],
      [0, 6],
      [240, 6],
      [48_000, 5],
    ]);
    expect(allEdges(song, { until: 0 })).toEqual([]);
  });

  it('holds run up to the end, and names the place of the end', () => {
    const run = allEdges(song, { until: 4.5 }).filter(({ output }) => output === RUN);
    expect(run.map(({ time, volts, bar, step }) => [time, volts, bar, step])).toEqual([
      [0, 6, 1, 1],
      // 0.5 s into the pattern of triplet steps of 0.2222 s.
      [4.5, 0, 3, 3],
    ]);
  });

  it('refuses numbers that are no times or tempos', () => {
    expect(() => songSeconds({ ...song, tempo: 0 })).toThrow(RangeError);
    expect(() => songSeconds({ ...song, tempo: Number.NaN })).toThrow(RangeError);
    expect(() => allEdges(song, { until: Number.NaN })).toThrow(RangeError);
    expect(() => allEdges(song, { until: 1, sampleRate: 0 })).toThrow(RangeError);
  });
});

describe('the clock', () => {
  it('per quarter is straight under a swing, and even across an odd pattern that repeats', () => {
    const seven = settings([pattern(['x------'])], {
      swing: 0.7,
      clock: { count: 1, per: 'quarter' },
    });
    expect(rises(seven, CLOCK, { until: 3 })).toEqual([0, 0.5, 1, 1.5, 2, 2.5]);
  });

  it('per quarter starts again with another pattern', () => {
    const five = settings([pattern(['x----']), pattern(['x---'])], {
      clock: { count: 1, per: 'quarter' },
    });
    // 5 sixteenths of 0.125 s, then 4.
    expect(rises(five, CLOCK, { until: 1.5 })).toEqual([0, 0.5, 0.625, 1.125]);
  });

  it('per quarter takes up a new rate or tempo without losing its place', () => {
    const six = settings([pattern(['x-----'])], {
      song: [
        { pattern: 0, repeats: 1, clock: { count: 1, per: 'quarter' } },
        { pattern: 0, repeats: 1, clock: { count: 2, per: 'quarter' }, tempo: 60 },
      ],
    });
    // 1.5 quarters of 0.5 s; the rest of that second quarter and one more at 1 s, in halves.
    expect(rises(six, CLOCK, { until: 2.25 })).toEqual([0, 0.5, 0.75, 1.25, 1.75]);
  });

  it('per step divides the swung steps', () => {
    const two = settings([pattern(['x-'])], { swing: 0.6, clock: { count: 2, per: 'step' } });
    expect(rises(two, CLOCK, { until: 0.5 })).toEqual([
      0, 0.075, 0.15, 0.2, 0.25, 0.325, 0.4, 0.45,
    ]);
  });

  it.each([
    ['5 ms', 1, 0.005],
    ['half its period where that is less', 96, 0.5 / 96 / 2],
  ])('pulses last %s', (_, count, seconds) => {
    const song = settings([pattern(['x---'])], { clock: { count, per: 'quarter' } });
    const [rise, fall] = allEdges(song, { until: 0.5 }).filter(({ output }) => output === CLOCK);
    close((fall?.time ?? 0) - (rise?.time ?? 0), seconds, {
      abs: 5e-13,
      unit: 's',
      why: 'rounding',
    });
  });

  it('that is too fast for the sample rate still goes up and down', () => {
    const dense = settings([pattern(['x'], { stepsPerQuarter: 96 })], {
      tempo: 999,
      clock: { count: 96, per: 'step' },
    });
    // 153,446 pulses a second: as many as fit with a low sample after each high one. The last starts
    // just before 10 ms, sample 480, and is nearest to it.
    const found = allEdges(dense, { until: 0.01 }).filter(({ output }) => output === CLOCK);
    expect(found.map(({ sample }) => sample)).toEqual(Array.from({ length: 482 }, (_, i) => i));
  });
});
