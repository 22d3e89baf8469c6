// What `timing --midi` writes of every example patch comes back as the same strokes, at the same times.

import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { midiFile } from '../../src/output/score/midi-file.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { fragment } from '../../src/tab/fragment.ts';
import { midiMusic } from '../../src/tab/midi-music.ts';
import { readMidi } from '../../src/tab/midi-reader.ts';
import { transcribe } from '../../src/tab/transcribe.ts';
import { rhythmSettings } from '../../src/timing/settings.ts';
import { songSeconds } from '../../src/timing/song.ts';
import { type Heard, played } from './played.ts';

const FOLDER = fileURLToPath(new URL('../../patches/', import.meta.url));
const EXAMPLES = readdirSync(FOLDER).filter((name) => name.endsWith('.yaml'));
/** s: times in the file are whole ticks, half a millisecond at 120 bpm, and a tempo whole microseconds. */
const TICK = 0.0012;

function load(file: string): Patch {
  const { patch, problems } = readPatch(readFileSync(FOLDER + file, 'utf8'), {
    file,
    kinds: KINDS,
    load: (path) => readFileSync(FOLDER + path, 'utf8'),
  });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  return patch;
}

function throughMidi(patch: Patch, seconds: number) {
  const music = midiMusic(readMidi(midiFile(patch, seconds).bytes), { accent: 112, ghost: 45 });
  const tab = transcribe(music);
  const { lines, beatsPerBar } = music;
  const text = fragment({ tab, lines, beatsPerBar, source: 'song.mid', module: 'drums' });
  const { patch: again, problems } = readPatch(`${text}  out: { kind: output }\n`, {
    file: 'again.yaml',
    kinds: KINDS,
  });
  if (again === undefined)
    throw new Error(`${problems.map(({ message }) => message).join('\n')}\n${text}`);
  return { again, tab, text };
}

// Strokes of a rhythm that follows a clock come where its pulses are, on the grid of no tempo that is written.
const WITH_RHYTHM = EXAMPLES.filter((file) => {
  const text = readFileSync(FOLDER + file, 'utf8');
  return /kind: rhythm/.test(text) && !/clock-in/.test(text);
});

describe('the MIDI file of an example', () => {
  it.each(WITH_RHYTHM)('%s comes back as the same strokes', (file) => {
    const patch = load(file);
    const [rhythm] = patch.modules.filter(({ definition }) => definition.role === 'score');
    const seconds = songSeconds(rhythmSettings(rhythm?.settings ?? {}));
    const { again, tab } = throughMidi(patch, seconds);
    expect(tab.misfits).toEqual([]);
    const before = played(patch, seconds);
    const after = played(again, seconds);
    const plain = (heard: readonly Heard[]) => heard.map(({ time: _, ...rest }) => rest);
    expect(plain(after)).toEqual(plain(before));
    for (const [index, { time }] of before.entries())
      expect(Math.abs((after[index]?.time ?? Number.NaN) - time)).toBeLessThan(TICK);
  });
});
