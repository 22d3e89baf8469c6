// Strokes that are late as a whole: the bars come back as they were drawn, and how late they were is told. The
// truth is the arithmetic of ticks by which the music was made.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { midiMusic } from '../../src/tab/midi-music.ts';
import type { Music, TabStroke } from '../../src/tab/music.ts';
import { transcribe } from '../../src/tab/transcribe.ts';
import { runs } from '../runs.ts';

const TICKS = 480;
const BPM = 125;
/** ms of a tick. */
const TICK_MS = 60_000 / BPM / TICKS;
const LINES = ['kick', 'hat'];

interface Bars {
  readonly bars: number;
  readonly stepsPerQuarter: number;
  readonly signs: readonly string[];
}

/** Bars of four quarters, each stroke moved by so many ticks. */
function music(
  { bars, stepsPerQuarter, signs }: Bars,
  late: (line: number, at: number) => number,
): Music {
  const strokes = signs.flatMap((bar, line): TabStroke[] =>
    [...bar.repeat(bars)].flatMap((sign, step) => {
      const tick = (step * TICKS) / stepsPerQuarter;
      const at = Math.round(tick + late(line, tick)) / TICKS;
      return sign === 'x' ? [{ at, line, strength: 'plain', loudness: 90 }] : [];
    }),
  );
  return {
    lines: LINES.map((name) => ({ name })),
    strokes: strokes.sort((a, b) => a.at - b.at),
    sections: Array.from({ length: bars }, (_, n) => {
      return { start: 4 * n, end: 4 * n + 4, bpm: BPM, bar: n + 1, within: 0 };
    }),
    beatsPerBar: 4,
    tick: 1 / TICKS,
    remarks: [],
  };
}

function tabOf(from: Bars, late: (line: number, at: number) => number) {
  const { patterns, late: words, song } = transcribe(music(from, late));
  const [first] = patterns;
  const signs = first?.lines.map(({ steps }) =>
    steps.map((step) => (step === undefined ? '-' : step.strokes === 1 ? 'x' : 'r')).join(''),
  );
  return { signs, count: patterns.length, stepsPerQuarter: first?.stepsPerQuarter, words, song };
}

/** A kick on each beat, and a hat anywhere, on a beat too. */
const DRAWN = fc
  .record({
    stepsPerQuarter: fc.constantFrom(3, 4),
    hits: fc.array(fc.boolean(), { minLength: 16, maxLength: 16 }),
    bars: fc.integer({ min: 2, max: 4 }),
  })
  .map(({ stepsPerQuarter, hits, bars }): Bars => {
    const steps = 4 * stepsPerQuarter;
    const beat = `x${'-'.repeat(stepsPerQuarter - 1)}`;
    // Eighths of triplets are in all three places, so that no swing explains them.
    const hat = hits.slice(0, steps).map((hit, n) => (hit || n < stepsPerQuarter ? 'x' : '-'));
    return { bars, stepsPerQuarter, signs: [beat.repeat(4), hat.join('')] };
  });

/** Less than an eighth of a quarter, and more than is told. */
const LATE = fc.integer({ min: 3, max: 55 }).chain((ticks) => fc.constantFrom(ticks, -ticks));

function ms(ticks: number): string {
  const time = Number((Math.abs(ticks) * TICK_MS).toPrecision(2));
  return `${time} ms ${ticks < 0 ? 'early' : 'late'}`;
}

describe('strokes of a file that are late', () => {
  it('by one time, are on their steps, and the time is told', () => {
    fc.assert(
      fc.property(DRAWN, LATE, (bars, ticks) => {
        const { signs, stepsPerQuarter, words } = tabOf(bars, () => ticks);
        expect(signs).toEqual(bars.signs);
        expect(stepsPerQuarter).toBe(bars.stepsPerQuarter);
        expect(words).toEqual([`All strokes are ${ms(ticks)}, which the tab leaves out.`]);
      }),
      runs(30),
    );
  });

  it('line by line, are on their steps, and each time is told', () => {
    fc.assert(
      fc.property(DRAWN, LATE, (bars, ticks) => {
        const { signs, words } = tabOf(bars, (line) => (line === 0 ? ticks : 0));
        expect(signs).toEqual(bars.signs);
        expect(words).toEqual([`All along, kick is ${ms(ticks)}, which the tab leaves out.`]);
      }),
      runs(30),
    );
  });

  // At a drift of d, what takes one quarter takes 1 + d: the tempo is that much slower.
  it.each([0.0025, 0.0083, -0.006])('more and more (%f), show the tempo of the hand', (drift) => {
    const bars = { bars: 16, stepsPerQuarter: 4, signs: ['x---x---x---x-x-', 'x-x-x-xxx-x-x-x-'] };
    const { signs, count, words, song } = tabOf(bars, (_line, at) => drift * at);
    expect({ signs, count }).toEqual({ signs: bars.signs, count: 1 });
    const own = Number((BPM / (1 + drift)).toFixed(2));
    const how = drift > 0 ? 'fall behind' : 'run ahead of';
    expect(words).toEqual([
      `Strokes ${how} its ${BPM} bpm more and more: they are written at ${own} bpm, as they are played.`,
    ]);
    expect(song).toEqual([{ pattern: 'bar-1', repeats: bars.bars, bpm: own }]);
  });

  it('on steps that a usual grid has, are left there', () => {
    // A hat a 32nd after each beat is no late hat.
    const bars = {
      bars: 2,
      stepsPerQuarter: 8,
      signs: ['x-------'.repeat(4), '-x------'.repeat(4)],
    };
    const { signs, words } = tabOf(bars, () => 0);
    expect({ signs, words }).toEqual({ signs: bars.signs, words: [] });
  });
});

it('counts the bars of most of the music, not those of a pick-up', () => {
  const quarters = (tick: number, count: number) => ({ tick, quarters: count });
  const notes = Array.from({ length: 9 }, (_, n) => {
    return { tick: n * TICKS, channel: 10, note: 36, velocity: 90, track: 0 };
  });
  const content = {
    ticksPerQuarter: TICKS,
    notes,
    tempos: [],
    metres: [quarters(0, 1), quarters(TICKS, 4)],
    markers: [],
    names: [],
    end: 0,
    isFilm: false,
    remarks: [],
  };
  expect(midiMusic(content, { accent: 112, ghost: 50 }).beatsPerBar).toBe(4);
});
