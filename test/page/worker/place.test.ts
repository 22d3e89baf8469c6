// Places of a long song: every bar and entry can be played, and sounds as it does there in the render.

import { describe, expect, it } from 'vitest';
import { Take } from '../../../src/engine/take.ts';
import type { From } from '../../../src/page/protocol.ts';
import { MOST_LOOP_SECONDS, placeOf } from '../../../src/page/worker/place.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import { viewOf } from '../../../src/page/worker/view.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { close } from '../../close.ts';
import { Page } from './harness.ts';

const SUMS = { abs: 5e-10, unit: 's', why: 'sums of a few doubles under 100 s' };
const SAMPLES = {
  abs: 5e-5,
  unit: 's',
  why: 'pulses come at samples: one of 1/48,000 s at either end',
};

/**
 * More than two minutes: what is left to chance, a sequencer that counts, noise, a grace stroke
 * just before an entry's end, and an entry that is no whole bar.
 */
const TEXT = `title: Long
seed: far
modules:
  drums:
    kind: rhythm
    tempo: 96 bpm
    channels: [hat, again]
    clock: 1 per step
    patterns:
      verse: { hat: "x?X- x?x- x?X- x-f?", again: "----" }
      odd: { hat: "f-xx x", tempo: 77 bpm, swing: 61 % }
    song: [{ pattern: verse, repeats: 28 }, odd, { pattern: verse, repeats: 25 }, odd, odd]
  walk: { kind: step-sequencer, rows: { pitch: [C2, G2, Eb2, 0.3 V, C3] } }
  tone: { kind: oscillator }
  hiss: { kind: noise, level: 1 V }
  shape: { kind: envelope, trigger: voltage, decay: 400 ms, release: 400 ms, sustain: 0 % }
  both: { kind: mixer }
  level: { kind: amplifier, response: linear }
  out: { kind: output }
cables:
  - drums.clock -> walk.clock
  - walk.pitch -> tone.pitch
  - drums.hat -> shape.trigger
  - shape.out -> level.control
  - tone.saw -> both.in-1
  - hiss.white -> both.in-2
  - both.out -> level.in
  - level.out -> out.left
`;
const FILES: PatchTexts = { main: 'long.yaml', set: [], texts: { 'long.yaml': TEXT } };
const RATE = 48_000;
/** s: 28 bars of 2.5 s, five steps at 77 bpm, 25 bars, and five steps twice. */
const BAR = 2.5;
const ODD = (5 * 60) / 77 / 4;
const SONG = 53 * BAR + 3 * ODD;

const patch = readFiles(FILES).patch as Patch;

/** The song once through, as a render of it plays. */
const rendered = ((): Float32Array => {
  const take = new Take(patch, {
    sampleRate: RATE,
    length: { unit: 'song' },
    tail: { unit: 'seconds', value: 0 },
  });
  const whole = new Float32Array(take.musicFrames);
  for (let given = take.read(); given > 0; given = take.read())
    whole.set(take.channels[0]?.subarray(0, given) as Float64Array, take.frames - given);
  return whole;
})();

describe('a place in a long song', () => {
  it.each<readonly [string, From, number | undefined, readonly [start: number, end: number]]>([
    ['a bar in the middle, for some bars', { type: 'bar', bar: 27 }, 2, [26 * BAR, 28 * BAR]],
    [
      'an entry that is no whole bar, alone',
      { type: 'entry', module: 'drums', entry: 1, alone: true },
      undefined,
      [28 * BAR, 28 * BAR + ODD],
    ],
    [
      'from an entry near the end, to the end',
      { type: 'entry', module: 'drums', entry: 3 },
      undefined,
      [SONG - 2 * ODD, SONG],
    ],
    ['the last bar', { type: 'bar', bar: 54 }, undefined, [Number.NaN, SONG]],
  ])('is what the render has there, sample for sample: %s', async (_, from, bars, [start, end]) => {
    const page = new Page();
    await page.answer(page.send({ type: 'open', files: FILES }), 'state');
    const { channels } = await page.loop(page.send({ type: 'length', bars, from }));
    const last = Math.round(end * RATE);
    const first = Number.isNaN(start)
      ? last - (channels[0]?.length ?? 0)
      : Math.round(start * RATE);
    expect(channels[0]?.length).toBe(last - first);
    expect(channels[0]?.length).toBeGreaterThan(RATE / 2);
    expect(channels[0]).toEqual(rendered.subarray(first, last));
  });

  it('reaches every moment of the song by going on from stretch to stretch', () => {
    const covered: [number, number][] = [];
    let from: From | undefined;
    for (let count = 0; count < 10; count++) {
      const place = placeOf(patch, from, undefined);
      covered.push([place.start, place.start + place.seconds]);
      expect(place.seconds).toBeLessThanOrEqual(MOST_LOOP_SECONDS);
      const { loop } = viewOf(patch, FILES, place);
      expect(loop.shortened).toBe(place.shortened);
      if (!place.shortened) break;
      from = { type: 'bar', bar: loop.firstBar + loop.bars.length };
    }
    // 24 bars of 2.5 s fill the minute, and the last stretch ends with the song.
    covered.forEach(([start], at) => {
      close(start, at === 0 ? 0 : (covered[at - 1]?.[1] as number), SUMS);
    });
    close(covered.at(-1)?.[1] ?? Number.NaN, SONG, SUMS);
    expect(covered.length).toBe(3);
  });

  it('says what plays there in the words of the song', () => {
    const { loop } = viewOf(patch, FILES, placeOf(patch, { type: 'bar', bar: 29 }, 3));
    expect([loop.start, loop.firstBar]).toEqual([28 * BAR, 29]);
    expect(loop.played.slice(0, 2)).toMatchObject([
      { module: 'drums', pattern: 'odd', entry: 1, repeat: 0, repeats: 1, start: 0 },
      { module: 'drums', pattern: 'verse', entry: 2, repeat: 0, repeats: 25 },
    ]);
    // Bars go on through the odd one: quarter notes are counted, whatever plays.
    expect(loop.bars.length).toBe(3);
  });

  it('is the song from its start where there is no such place', () => {
    for (const from of [
      { type: 'bar', bar: 55 },
      { type: 'bar', bar: 0 },
      { type: 'entry', module: 'drums', entry: 5 },
      { type: 'entry', module: 'nobody', entry: 0 },
    ] as const)
      expect(placeOf(patch, from, 1)).toMatchObject({ start: 0, seconds: BAR });
  });

  it('is a pattern alone from rest, its tail round its head', () => {
    const place = placeOf(patch, { type: 'pattern', module: 'drums', pattern: 'odd' }, undefined);
    expect(place).toMatchObject({ start: 0, length: { unit: 'song' } });
    close(place.seconds, ODD, SUMS);
  });
});

// Set to 120 bpm, with 6 pulses a second, four a quarter, it plays at 90: a bar takes 8/3 s.
describe('a place in the song of a rhythm that follows pulses', () => {
  const followed: PatchTexts = {
    main: 'slower.yaml',
    set: [],
    texts: {
      'slower.yaml': `title: Slower
modules:
  tick: { kind: clock, rate: 6 Hz }
  drums:
    kind: rhythm
    tempo: 120 bpm
    channels: [hat]
    follows: 4 per quarter
    patterns: { a: { hat: "x---x---x---x---" }, b: { hat: "x---------------" } }
    song: [{ pattern: a, repeats: 2 }, b]
  shape: { kind: envelope }
  tone: { kind: oscillator }
  level: { kind: amplifier }
  out: { kind: output }
cables: [tick.out -> drums.clock-in, drums.hat -> shape.trigger, shape.out -> level.control, tone.saw -> level.in, level.out -> out.left]
`,
    },
  };
  const slower = readFiles(followed).patch as Patch;
  const SLOW = 8 / 3;
  /** `clock-in` notices a pulse once it has lasted a millisecond. */
  const NOTICED = 0.001;

  it('is where the pulses bring it', () => {
    const place = placeOf(slower, { type: 'bar', bar: 3 }, 1);
    close(place.start, 2 * SLOW + NOTICED, SAMPLES);
    close(place.seconds, SLOW, SAMPLES);
    const { loop } = viewOf(slower, followed, place);
    expect([loop.firstBar, loop.bars]).toEqual([3, [0]]);
    expect(loop.played.map(({ pattern, entry, start }) => [pattern, entry, start])).toEqual([
      ['b', 1, 0],
    ]);
    close(loop.played[0]?.step ?? Number.NaN, 1 / 6, SAMPLES);
  });

  it('is an entry of its song, and what there is from one on', () => {
    const alone = placeOf(
      slower,
      { type: 'entry', module: 'drums', entry: 1, alone: true },
      undefined,
    );
    close(alone.start, 2 * SLOW + NOTICED, SAMPLES);
    close(alone.seconds, SLOW, SAMPLES);
    const on = placeOf(slower, { type: 'bar', bar: 2 }, undefined);
    close(on.start + on.seconds, 3 * SLOW, SAMPLES);
  });

  it('is so many bars of the song as the pulses play them, or the song as a render has it', () => {
    expect(placeOf(slower, undefined, undefined)).toMatchObject({
      seconds: 6,
      length: { unit: 'song' },
    });
    close(placeOf(slower, undefined, 2).seconds, 2 * SLOW, SAMPLES);
    const { loop } = viewOf(slower, followed, placeOf(slower, undefined, 2));
    expect(loop.bars).toEqual([0, expect.closeTo(SLOW + NOTICED, 4)]);
    // No bar five: the song from its start.
    expect(placeOf(slower, { type: 'bar', bar: 4 }, 1)).toMatchObject({ start: 0 });
  });

  it('goes by the tempo that it is set to where no pulses come', () => {
    const text = followed.texts['slower.yaml'] as string;
    const still = { ...followed, texts: { 'slower.yaml': text.replace('tick.out', 'tone.sine') } };
    const place = placeOf(readFiles(still).patch as Patch, undefined, 1);
    expect(place.seconds).toBeGreaterThan(0);
  });

  it('begins with the stroke that is written there', async () => {
    const page = new Page();
    await page.answer(page.send({ type: 'open', files: followed }), 'state');
    const from: From = { type: 'bar', bar: 3 };
    const { channels } = await page.loop(page.send({ type: 'length', bars: 1, from }));
    const [mix] = channels;
    expect(mix?.length).toBe(SLOW * RATE);
    // The envelope notices its gate after a millisecond too, and rises from there.
    const first = mix?.findIndex((value) => Math.abs(value) > 0.01) ?? -1;
    expect(first).toBeGreaterThan(40);
    expect(first).toBeLessThan(400);
  });
});
