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
import { type TabLine, transcribe } from '../../src/tab/transcribe.ts';
import { rhythmSettings } from '../../src/timing/rhythm.ts';
import { songSeconds } from '../../src/timing/song.ts';
import { close } from '../close.ts';
import { type Heard, played } from './played.ts';

const FOLDER = fileURLToPath(new URL('../../patches/', import.meta.url));
const EXAMPLES = readdirSync(FOLDER).filter((name) => name.endsWith('.yaml'));
/** s: times in the file are whole ticks, half a millisecond at 120 bpm, and a tempo whole microseconds. */
const TICK = 0.0012;

function read(text: string, file: string): Patch {
  const { patch, problems } = readPatch(text, {
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

/** One rhythm for each thing that a pattern or a song may have. */
const CLASSES: Readonly<Record<string, string>> = {
  'swing, flams and ratchets':
    'swing: 62 %, patterns: { a: { kick: "x---x---x---x---", hat: "xxxxXxxfxx3-gx2-" } }, song: [a, a]',
  'swing that only a ratchet tells':
    'swing: 64 %, patterns: { a: { kick: "x---", hat: "--3-" } }, song: [a]',
  'swing of one line':
    'patterns: { a: { kick: "x--xx---x--xx---", hat: { steps: "xxxxXxxxxxx-xxxx", swing: 60 % } } }, song: [a]',
  'flams of their own':
    'patterns: { a: { hat: { steps: "f---f---f---f---", at: { 5: { flam: 12 ms }, 13: { flam: 35 ms } } } } }, song: [a]',
  'every ratchet':
    'patterns: { a: { kick: "x---x---x---x---", hat: "8-7-6-5-4-3-2-x-" } }, song: [a]',
  triplets:
    'patterns: { a: { steps-per-quarter: 3, kick: "x--x--x--x--", hat: "x-xx-xx-xxxx" } }, song: [a]',
  'lengths that are no bar':
    'patterns: { a: { kick: "x--x--x", hat: "x-xx-x5" }, b: { hat: "xxxx" } }, song: [a, b, a]',
  'tempos of entries':
    'patterns: { a: { kick: "x---x---x---x---" } }, song: [a, { pattern: a, tempo: 90 bpm }, { pattern: a, tempo: 140 bpm }]',
  chance: 'patterns: { a: { kick: "x---x---x---x---", hat: "????????????????" } }, song: [a, a, a]',
  'rests at both ends':
    'patterns: { a: { kick: "----x-----------" }, b: { hat: "----------------" } }, song: [b, a, b]',
};

/** That its MIDI file comes back as the same strokes, and as long. */
function expectBack(patch: Patch): void {
  const lengthOf = ({ modules }: Patch): number => {
    const rhythm = modules.find(({ definition }) => definition.role === 'score');
    return songSeconds(rhythmSettings(rhythm?.settings ?? {}));
  };
  const seconds = lengthOf(patch);
  const { again, tab } = throughMidi(patch, seconds);
  expect(tab.misfits).toEqual([]);
  expect(tab.off).toBeLessThan(TICK);
  const before = played(patch, seconds);
  const after = played(again, seconds);
  const plain = (heard: readonly Heard[]) => heard.map(({ time: _, ...rest }) => rest);
  expect(plain(after)).toEqual(plain(before));
  for (const [index, { time }] of before.entries())
    close(after[index]?.time, time, { abs: TICK, unit: 's', why: 'a tick' });
  close(lengthOf(again), seconds, { abs: TICK, unit: 's', why: 'a tick' });
}

describe('a MIDI file', () => {
  it.each(WITH_RHYTHM)('of %s comes back as the same strokes, and as long', (file) => {
    expectBack(read(readFileSync(FOLDER + file, 'utf8'), file));
  });

  it('of a rhythm that follows a clock comes back as its signs', () => {
    const patch = read(readFileSync(`${FOLDER}followed-clock.yaml`, 'utf8'), 'followed-clock.yaml');
    const { text } = throughMidi(patch, 6);
    const [first, second] = [...text.matchAll(/hat: "([^"]*)"/g)].map(([, signs]) => signs);
    // As its patterns stand in the file: its pulses come when the clock crosses the threshold, on no tick.
    expect(first).toBe('x-x- X-x- xgxg X-f-');
    expect(second).toBe('x-x- X-x- x-2- X-4-');
  });

  it.each(Object.entries(CLASSES))(
    'of %s comes back as the same strokes, and as long',
    (_, words) => {
      const drums = `{ kind: rhythm, channels: [kick, hat], ${words} }`;
      expectBack(read(`modules:\n  drums: ${drums}\n  out: { kind: output }\n`, 'one.yaml'));
    },
  );

  // Five strokes in a row are "5-" at one swing and "4x" at another, to the tick: every such pair of readings.
  it.each([3, 4, 5, 6, 7, 8])(
    'of a ratchet of %d in a swung step has it so, or says that it may as well be so',
    (count) => {
      for (const line of [`${count}-x-x-x-`, `${count - 1}xx-x-x-`])
        for (let swing = 52; swing <= 75; swing++) {
          const rhythm = `kind: rhythm, channels: [kick], swing: ${swing} %, patterns: { a: { kick: "${line}" } }, song: [a]`;
          const patch = read(
            `modules:\n  drums: { ${rhythm} }\n  out: { kind: output }\n`,
            'one.yaml',
          );
          const [pattern, others] = tabOf(patch);
          const readings = [pattern, ...others];
          // A straight reading of the same strokes is simpler than any other. One percent is two ticks of a step here.
          const holds = readings.some(
            ({ tab, share }) =>
              share === 0.5 || (tab === line && Math.abs(share - swing / 100) < 0.006),
          );
          expect(holds, `${line} at ${swing} %: ${JSON.stringify(readings)}`).toBe(true);
          expectBack(patch);
        }
    },
  );

  it('of a ratchet of five at 64 % has no swing that nobody hears', () => {
    const rhythm =
      'kind: rhythm, channels: [kick], swing: 64 %, patterns: { a: { kick: "5-x-x-x-" } }, song: [a]';
    const patch = read(`modules:\n  drums: { ${rhythm} }\n  out: { kind: output }\n`, 'one.yaml');
    expect(tabOf(patch)).toEqual([{ tab: '5-x-x-x-', share: 0.64 }, []]);
  });
});

interface Line {
  readonly tab: string;
  readonly share: number;
}

/** The first line of what comes back of one second, and other readings of it. */
function tabOf(patch: Patch): readonly [Line, readonly Line[]] {
  const { tab } = throughMidi(patch, 1);
  const text = ({ steps, share }: Pick<TabLine, 'steps' | 'share'>): Line => ({
    tab: steps.map((step) => (step === undefined ? '-' : signOf(step.strokes))).join(''),
    share,
  });
  const [line] = tab.patterns[0]?.lines ?? [];
  if (line === undefined) throw new Error('nothing came back');
  return [text(line), tab.alike.map(text)];
}

function signOf(strokes: number): string {
  return strokes > 1 ? String(strokes) : 'x';
}
