// The bars of a score whose rhythm follows pulses are those of the pulses, not of the tempo it is set to.

import { expect, it } from 'vitest';
import { prepared } from '../../../src/engine/prepared.ts';
import { cuesOf } from '../../../src/output/bar-cues.ts';
import { heardNotes } from '../../../src/output/score/heard-notes.ts';
import { midiFile } from '../../../src/output/score/midi-file.ts';
import { scoreOf } from '../../../src/output/score/score-of.ts';
import { scoreWords } from '../../../src/output/score/score-words.ts';
import { midiMusic } from '../../../src/tab/midi-music.ts';
import { readMidi } from '../../../src/tab/midi-reader.ts';
import { transcribe } from '../../../src/tab/transcribe.ts';
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

it('names the bars of a clip where the pulses bring them', () => {
  const cues = cuesOf(patchFrom(SLOWER), 48_000, 6 * 48_000);
  expect(cues.map(({ label }) => label)).toEqual(['Bar 1', 'Bar 2', 'Bar 3']);
  for (const [i, { sample }] of cues.entries())
    close(sample / 48_000, (i * 16) / 6 + 0.001, {
      abs: 2 / 48_000,
      unit: 's',
      why: 'clock-in notices a pulse after a millisecond, and at a whole sample',
    });
});
