// The bars of a score whose rhythm follows pulses are those of the pulses, not of the tempo it is set to.

import { expect, it } from 'vitest';
import { prepared } from '../../../src/engine/prepared.ts';
import { Take } from '../../../src/engine/take.ts';
import { BarCues } from '../../../src/output/bar-cues.ts';
import { heardNotes } from '../../../src/output/score/heard-notes.ts';
import { midiFile } from '../../../src/output/score/midi-file.ts';
import { scoreOf } from '../../../src/output/score/score-of.ts';
import { scoreWords } from '../../../src/output/score/score-words.ts';
import { midiMusic } from '../../../src/tab/midi-music.ts';
import { readMidi } from '../../../src/tab/midi-reader.ts';
import { transcribe } from '../../../src/tab/transcribe.ts';
import type { BarCue } from '../../../src/timing/length.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';

/** Set to 120 bpm; 6 pulses a second, four a quarter, make 90. */
const SLOWER = `
title: Slower
modules:
  tick: { kind: clock, rate: 6 Hz }
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { a: { hat: "x---x---x---x---" } } }
  shape: { kind: envelope }
  out: { kind: output }
cables: [tick.out -> drums.clock-in, drums.hat -> shape.trigger, shape.out -> out.left]
`;

it('counts bars by the mean of the pulses, and says so', () => {
  const score = scoreOf(patchFrom(SLOWER), { sampleRate: 48_000, seconds: 6, curves: false });
  expect(score?.bars.map(({ number }) => number)).toEqual([1, 2, 3]);
  close(score?.bars[1]?.start ?? 0, 16 / 6, {
    abs: 1e-4,
    unit: 's',
    why: 'pulses come at whole samples',
  });
  expect(score && scoreWords(score).followers).toEqual([
    'drums follows its clock-in; bars are counted at 90 bpm, the mean of its 36 pulses.',
  ]);
});

it('hears the strokes of a follower for MIDI at the times of its pulses', () => {
  const strokes = heardNotes(prepared(patchFrom(SLOWER)), 6).strokes.get('drums') ?? [];
  expect(strokes).toHaveLength(9);
  // The time that clock-in takes to notice a pulse is taken off.
  for (const [i, { time }] of strokes.entries())
    close(time, (i * 4) / 6, { abs: 2 / 48_000, unit: 's', why: 'pulses come at whole samples' });
});

it('writes MIDI at the tempo that the pulses make, so that its notes lie on its steps', () => {
  const { bytes } = midiFile(patchFrom(SLOWER), 6);
  const music = midiMusic(readMidi(bytes), { accent: 112, ghost: 50 });
  close(music.sections[0]?.bpm ?? 0, 90, {
    rel: 1e-4,
    unit: 'bpm',
    why: 'pulses come at whole samples',
  });
  const [pattern] = transcribe(music).patterns;
  expect(pattern?.stepsPerQuarter).toBe(4);
});

/** The bars of a take as its file names them, and when its gate of the hat rises. */
function barsOfTake(
  text: string,
  { sampleRate, seconds }: { readonly sampleRate: number; readonly seconds: number },
): { readonly cues: readonly BarCue[]; readonly rises: readonly number[] } {
  const of = prepared(patchFrom(text));
  const cues = new BarCues(of);
  const take = new Take(of, {
    sampleRate,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
    probes: [{ module: 'drums', jack: 'hat' }],
    onStep: cues.onStep,
  });
  const rises: number[] = [];
  let isHigh = false;
  for (let given = take.read(); given > 0; given = take.read())
    take.probes[0]?.subarray(0, given).forEach((volts, i) => {
      if (volts > 1 && !isHigh) rises.push(take.frames - given + i);
      isHigh = volts > 1;
    });
  return { cues: cues.within(sampleRate, take.musicFrames), rises };
}

it('names the bars of a clip where the pulses bring them', () => {
  const { cues } = barsOfTake(SLOWER, { sampleRate: 48_000, seconds: 6 });
  expect(cues.map(({ label }) => label)).toEqual(['Bar 1', 'Bar 2', 'Bar 3']);
  for (const [i, { sample }] of cues.entries())
    close(sample / 48_000, (i * 16) / 6 + 0.001, {
      abs: 2 / 48_000,
      unit: 's',
      why: 'clock-in notices a pulse after a millisecond, and at a whole sample',
    });
});

/** Noise runs otherwise at each rate, and with it these pulses, four of which make a bar. */
const BY_NOISE = `
title: By noise
modules:
  hiss: { kind: noise, level: 3 V }
  slow: { kind: filter, cutoff: 12 Hz }
  edges: { kind: comparator, threshold: 20 mV }
  drums: { kind: rhythm, beats-per-bar: 1, channels: [hat], patterns: { a: { hat: "x---" } } }
  shape: { kind: envelope }
  out: { kind: output }
cables:
  - hiss.white -> slow.in
  - slow.low -> edges.in
  - edges.above -> drums.clock-in
  - drums.hat -> shape.trigger
  - shape.out -> out.left
`;

it.each([44_100, 96_000])('names bars where they are in a clip of %i Hz', (sampleRate) => {
  const { cues, rises } = barsOfTake(BY_NOISE, { sampleRate, seconds: 3 });
  expect(cues.length).toBeGreaterThan(1);
  expect(rises).toEqual(expect.arrayContaining(cues.map(({ sample }) => sample)));
});
