// One-shots of the strokes of a patch, against renders of patterns with that single hit; their WAV files read
// by the wavefile package, and the map by a small parser of our own that knows only the published opcodes of
// SFZ version 1 (from memory).

import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { Take } from '../../../src/engine/take.ts';
import { type StrokesWritten, writeStrokes } from '../../../src/output/strokes/write-strokes.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { filesOf } from '../../page/worker/harness.ts';
import { patchFrom } from '../../patch-of.ts';

/** -90 dBFS, where a stroke is trimmed. */
const FLOOR = 10 ** (-90 / 20);

function patchOf(file: string, change: (text: string) => string = (text) => text): Patch {
  const files = filesOf(file);
  const text = change(files.texts[file] ?? '');
  const { patch } = readFiles({ ...files, texts: { ...files.texts, [file]: text } });
  if (patch === undefined) throw new Error(`${file} cannot be heard`);
  return patch;
}

function newFolder(): string {
  return mkdtempSync(join(tmpdir(), 'forehear-test-'));
}

function write(
  patch: Patch,
  folder: string,
  { turns = 2, notes = new Map<string, number>() } = {},
): Promise<StrokesWritten> {
  return writeStrokes(patch, {
    folder,
    name: 'kit',
    sampleRate: 48_000,
    depth: '32f',
    turns,
    notes,
    onProgress: () => {},
    signal: new AbortController().signal,
  });
}

/** The first channel of a 32-bit file. */
function samplesOf(path: string): Float64Array {
  const wav = new wavefile.WaveFile(readFileSync(path));
  const samples = wav.getSamples(false) as unknown as Float64Array | readonly Float64Array[];
  return samples instanceof Float64Array ? samples : (samples[0] as Float64Array);
}

function rendered(patch: Patch, seconds: number): Float64Array {
  const take = new Take(patch, {
    sampleRate: 48_000,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
  });
  const all = new Float64Array(seconds * 48_000);
  for (let count = take.read(); count > 0; count = take.read())
    all.set((take.channels[0] as Float64Array).subarray(0, count), take.frames - count);
  return all;
}

type Opcodes = Readonly<Record<string, string>>;

/**
 * The opcodes of SFZ version 1 that may stand there, each with what it takes (published list; ranges from
 * memory): whole numbers between two ends, or one of some words.
 */
const OPCODES: Readonly<Record<string, RegExp | readonly [least: number, most: number]>> = {
  sample: /^[^\s=<>]+\.wav$/,
  key: [0, 127],
  lovel: [0, 127],
  hivel: [0, 127],
  pitch_keycenter: [0, 127],
  loop_mode: /^(?:no_loop|one_shot|loop_continuous|loop_sustain)$/,
  amp_veltrack: [-100, 100],
  seq_length: [1, 100],
  seq_position: [1, 100],
  // 0 is no group.
  group: [1, 2 ** 32 - 1],
  off_by: [1, 2 ** 32 - 1],
};

function isLegal(name: string, value: string): boolean {
  const rule = OPCODES[name];
  if (rule === undefined) return false;
  if (rule instanceof RegExp) return rule.test(value);
  return /^-?\d+$/.test(value) && rule[0] <= Number(value) && Number(value) <= rule[1];
}

/** The regions of an SFZ text, each with what its group says. */
function regionsOf(text: string): readonly Opcodes[] {
  const regions: Record<string, string>[] = [];
  let group: Opcodes = {};
  let current: Record<string, string> | undefined;
  for (const word of text
    .replace(/\/\/.*$/gm, '')
    .split(/\s+/)
    .filter(Boolean)) {
    if (word === '<group>') {
      current = {};
      group = current;
    } else if (word === '<region>') {
      current = { ...group };
      regions.push(current);
    } else {
      const [, name = '', value = ''] = /^([a-z_]+)=(\S+)$/.exec(word) ?? [];
      if (current === undefined || !isLegal(name, value)) throw new Error(`what is "${word}"?`);
      current[name] = value;
    }
  }
  return regions;
}

/** The files that a note of some velocity plays, on its first strokes. */
function played(regions: readonly Opcodes[], note: number, velocity: number): readonly string[] {
  return regions
    .filter(({ key }) => Number(key) === note)
    .filter(({ lovel, hivel }) => Number(lovel) <= velocity && velocity <= Number(hivel))
    .map(({ sample }) => sample as string);
}

describe('the strokes of a kit', () => {
  const folder = join(newFolder(), 'kit');
  let written: StrokesWritten;
  let regions: readonly Opcodes[];

  beforeAll(async () => {
    written = await write(patchOf('patches/two-bar-kit.yaml'), folder);
    regions = regionsOf(readFileSync(written.sfz ?? '', 'utf8'));
  });

  it('are a file each, and all of them are in the map, by the notes of the MIDI file', () => {
    const files = written.files.map(({ path }) => basename(path));
    expect(
      readdirSync(folder)
        .filter((name) => name.endsWith('.wav'))
        .sort(),
    ).toEqual([...files].sort());
    expect(regions.map(({ sample }) => sample).sort()).toEqual([...files].sort());
    // General MIDI Level 1 percussion key map: bass drum 1, acoustic snare, closed and open hi-hat.
    expect(played(regions, 36, 90)).toEqual(['kick-plain.wav']);
    expect(played(regions, 38, 127)).toEqual(['snare-plain-1.wav', 'snare-plain-2.wav']);
    expect(played(regions, 42, 1)).toEqual(['hats-closed-plain-1.wav', 'hats-closed-plain-2.wav']);
    expect(played(regions, 46, 64)).toHaveLength(2);
  });

  it('are played whole, untransposed, and as loud as they are', () => {
    for (const { key, pitch_keycenter, loop_mode, amp_veltrack } of regions)
      expect([pitch_keycenter, loop_mode, amp_veltrack]).toEqual([key, 'one_shot', '0']);
  });

  it('of chance take turns, and others have none', () => {
    const turns = (note: number) =>
      regions
        .filter(({ key }) => Number(key) === note)
        .map(({ seq_length, seq_position }) => [seq_length, seq_position]);
    expect(turns(38)).toEqual([
      ['2', '1'],
      ['2', '2'],
    ]);
    expect(turns(36)).toEqual([[undefined, undefined]]);
  });

  it('end each other where one gate goes to the cut jack of another: the open hat by the closed', () => {
    const [closed] = regions.filter(({ key }) => key === '42');
    const [open] = regions.filter(({ key }) => key === '46');
    expect(open?.off_by).toBe(closed?.group);
    expect(closed?.group).toBeDefined();
    expect(open?.group).not.toBe(closed?.group);
    expect(closed?.off_by).toBeUndefined();
    expect(regions.find(({ key }) => key === '36')?.group).toBeUndefined();
  });

  it('say their root note in the WAV file, where other programs read it', () => {
    for (const { path, note } of written.files) {
      const { smpl } = new wavefile.WaveFile(readFileSync(path)) as unknown as {
        smpl: { dwMIDIUnityNote: number; dwSamplePeriod: number; dwNumSampleLoops: number };
      };
      // 1e9 / 48 000 is 20 833 ns.
      expect([smpl.dwMIDIUnityNote, smpl.dwSamplePeriod, smpl.dwNumSampleLoops]).toEqual([
        note,
        20_833,
        0,
      ]);
    }
  });

  it('begin and end where they are heard, at -90 dBFS', () => {
    for (const { path } of written.files) {
      const samples = samplesOf(path);
      expect(Math.abs(samples[0] as number), path).toBeGreaterThan(0.99 * FLOOR);
      expect(Math.abs(samples.at(-1) as number), path).toBeGreaterThan(0.99 * FLOOR);
    }
  });

  it('are those of a render with that single hit, sample for sample, with their seed', () => {
    const single: readonly (readonly [file: string, channel: string, seed: string])[] = [
      ['kick-plain.wav', 'kick', 'workshop'],
      ['snare-plain-1.wav', 'snare', 'workshop'],
      ['snare-plain-2.wav', 'snare', 'workshop 2'],
      ['hats-open-plain-2.wav', 'open', 'workshop 2'],
    ];
    for (const [file, channel, seed] of single) {
      const only = `{ ${channel}: "x${'-'.repeat(31)}" }`;
      const patch = patchOf('patches/two-bar-kit.yaml', (text) =>
        text
          .replace(/seed: .*/, `seed: ${seed}`)
          .replace(/patterns:[\s\S]*?song:/, `patterns: { first: ${only} }\n    song:`)
          .replace(/song: .*/, 'song: [first]'),
      );
      expectStroke(samplesOf(join(folder, file)), rendered(patch, 2.5), file);
    }
  });

  it('are written again over their own, and never over what another has made', async () => {
    await write(patchOf('patches/two-bar-kit.yaml'), folder, { turns: 1 });
    // The set of before is gone, but for what the new one has.
    expect(existsSync(join(folder, 'snare-plain-2.wav'))).toBe(false);
    const other = newFolder();
    mkdirSync(join(other, 'kit'));
    writeFileSync(join(other, 'kit', 'kick-plain.wav'), 'mine');
    await expect(
      write(patchOf('patches/two-bar-kit.yaml'), join(other, 'kit'), { turns: 1 }),
    ).rejects.toThrow('no earlier run has made');
    expect(readdirSync(join(other, 'kit'))).toEqual(['kick-plain.wav']);
    expect(readFileSync(join(other, 'kit', 'kick-plain.wav'), 'utf8')).toBe('mine');
  });
});

/** Whether a file has a render's sound, from its first sample above the floor to its last. */
function expectStroke(stroke: Float64Array, whole: Float64Array, name: string): void {
  const loud = (sample: number): boolean => Math.abs(sample) > FLOOR;
  const head = whole.findIndex(loud);
  const end = whole.findLastIndex(loud) + 1;
  expect(stroke.length, name).toBe(end - head);
  // Single precision, exactly.
  expect(
    stroke.findIndex((sample, at) => sample !== Math.fround(whole[head + at] as number)),
    name,
  ).toBe(-1);
}

describe('accents', () => {
  it('are a file each, in proportion, for the velocities of the MIDI file', async () => {
    const { files, sfz } = await write(patchOf('patches/closed-hat.yaml'), newFolder(), {
      turns: 1,
      notes: new Map([['drums.hat', 44]]),
    });
    const strengths = { ghost: 'g', plain: 'x', accent: 'X' } as const;
    for (const [strength, sign] of Object.entries(strengths)) {
      const patch = patchOf('patches/closed-hat.yaml', (text) =>
        text.replace(/groove: .*$/m, `groove: { hat: "${sign}${'-'.repeat(31)}" }`),
      );
      const file = files.find((one) => one.strength === strength);
      expectStroke(samplesOf(file?.path ?? ''), rendered(patch, 2), strength);
    }
    const regions = regionsOf(readFileSync(sfz ?? '', 'utf8'));
    // The velocities that `timing --midi` gives: ghost 45, plain 90, accent 127; and every one plays one.
    expect([45, 90, 127].map((velocity) => played(regions, 44, velocity))).toEqual([
      ['hat-ghost.wav'],
      ['hat-plain.wav'],
      ['hat-accent.wav'],
    ]);
    for (let velocity = 0; velocity < 128; velocity++)
      expect(played(regions, 44, velocity)).toHaveLength(1);
  });

  it('that are silent in the patch are silent in a sampler, and told', async () => {
    // A ghost stroke is -4 V at its accent: 1 V - 38 % of it shuts an amplifier.
    const text = (file: string) => file.replace('offset: 3.1 V', 'offset: 1 V');
    const { silent, sfz } = await write(patchOf('patches/closed-hat.yaml', text), newFolder());
    expect(silent).toEqual([{ voice: 'hat', jack: 'drums.hat', strength: 'ghost' }]);
    const regions = regionsOf(readFileSync(sfz ?? '', 'utf8'));
    expect(played(regions, 42, 45)).toEqual([]);
    expect(played(regions, 42, 90)).toEqual(['hat-plain-1.wav', 'hat-plain-2.wav']);
    expect(played(regions, 42, 127)).not.toEqual([]);
  });

  const VOICE = (more: string) =>
    patchFrom(`title: "Ding\\n<region> sample=x"
modules:
  drums: { kind: rhythm, tempo: 999 bpm, channels: [CON, Small_Bell, mute], gate: 2 s, patterns: { p: { CON: "X", mute: "x" } } }
  tone: { kind: oscillator }
  shape: { kind: envelope, mode: trigger, decay: 90 ms, sustain: 0 % }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - tone.sine -> level.in
  - shape.out -> level.control
  - level.out -> out.left
${more}`);

  it('that nothing listens to are no files, and names are safe wherever they go', async () => {
    const { files, sfz } = await write(VOICE('  - drums.CON -> shape.trigger\n'), newFolder());
    expect(files.map(({ path }) => basename(path))).toEqual(['con-plain.wav']);
    // A title cannot say anything to a sampler.
    expect(regionsOf(readFileSync(sfz ?? '', 'utf8'))).toHaveLength(1);
    const other = await write(VOICE('  - drums.Small_Bell -> shape.trigger\n'), newFolder());
    expect(other.files.map(({ path }) => basename(path))).toEqual(['small-bell-plain.wav']);
  });

  it('of a voice that no channel strikes are none, and no folder is made', async () => {
    const folder = join(newFolder(), 'none');
    const { files, unheard } = await write(VOICE(''), folder);
    expect(files).toEqual([]);
    expect(unheard).toHaveLength(1);
    expect(existsSync(folder)).toBe(false);
  });

  it('of the fastest tempo come once, however long the gate', async () => {
    const { files } = await write(VOICE('  - drums.CON -> shape.trigger\n'), newFolder());
    // 90 ms are five time constants; -90 dBFS is at most 11 of them down from full scale.
    expect((files[0]?.frames ?? 0) / 48_000).toBeLessThan((90 / 5) * 11 * 1e-3);
  });
});
