// The stages of a lesson, against those that a teacher would choose: the patches' own graphs, read by eye.

import { mkdtempSync, readdirSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { type LessonFiles, writeLesson } from '../../../src/output/lesson/lesson.ts';
import type { Lesson } from '../../../src/output/lesson/lesson-words.ts';
import { playStroke } from '../../../src/output/lesson/play.ts';
import { stagesOf } from '../../../src/output/lesson/stages.ts';
import { jackName } from '../../../src/patch/patch.ts';
import { close } from '../../close.ts';
import { example, written } from '../../compare/written.ts';
import { type SecondReader, secondReader } from '../../measure/second-reader.ts';
import { patchFrom } from '../../patch-of.ts';

const RATE = 48_000;
const hat = example('closed-hat.yaml').patch;
const kick = example('kick.yaml', ['parts/kick.yaml']).patch;
const kit = example('two-bar-kit.yaml', [
  'parts/kick.yaml',
  'parts/snare.yaml',
  'parts/hats.yaml',
]).patch;

function bytesOf(samples: Float64Array): Buffer {
  return Buffer.from(samples.buffer, samples.byteOffset, samples.byteLength);
}

function told(patch: typeof hat): string[] {
  return stagesOf(patch).map(({ type, jack }) => `${type} ${jackName(jack)}`);
}

describe('stagesOf', () => {
  it('builds the closed hat up: source, filter, envelope, accent, pattern', () => {
    expect(told(hat)).toEqual([
      'source hiss.white',
      'shaped bright.high',
      'shaped soft.low',
      'control level.control',
      'moved level.out',
      'control touch.control',
      'moved touch.out',
      'mix out.left',
    ]);
    const [source, filtered, , control, enveloped] = stagesOf(hat);
    expect(source?.title).toBe('The source alone: hiss');
    expect(filtered?.title).toBe('Filtered: bright');
    expect(control?.title).toBe('The control voltage: shape');
    expect(enveloped?.title).toBe('Enveloped: level');
  });

  it('lets the kick be heard without its falling pitch, and then with it', () => {
    expect(told(kick)).toEqual([
      'source kick.body.sine',
      'control kick.body.pitch',
      'moved kick.body.sine',
      'control kick.level.control',
      'moved kick.level.out',
      'mix out.left',
    ]);
    const [alone, fall, bent] = stagesOf(kick);
    expect(alone?.of.patch.cables.length).toBe(kick.cables.length - 1);
    expect(bent?.of.patch).toBe(kick);
    // The envelope gives the voltage its name; the attenuator behind it is explained too.
    expect(fall?.modules.map(({ name }) => name)).toEqual([
      'kick.beater',
      'kick.fall',
      'kick.depth',
    ]);
  });

  it('lets a low-pass gate be heard once its lamp is lit, and names volts after what follows a sound', () => {
    const patch = patchFrom(`modules:
  drums: { kind: rhythm, channels: [hand], patterns: { one: { hand: "x---" } }, song: [one] }
  tone:  { kind: oscillator, at-zero: 150 Hz }
  hand:  { kind: low-pass-gate }
  split: { kind: multiple }
  loud:  { kind: envelope-follower }
  hiss:  { kind: noise }
  under: { kind: amplifier }
  both:  { kind: mixer }
  out:   { kind: output }
cables:
  - drums.hand    -> hand.control
  - tone.triangle -> hand.in
  - hand.out      -> split.in
  - split.out-1   -> both.in-1
  - split.out-2   -> loud.in
  - loud.out      -> under.control
  - hiss.pink     -> under.in
  - under.out     -> both.in-2
  - both.out      -> out.left
`);
    expect(stagesOf(patch).map(({ title }) => title)).toEqual([
      'The source alone: tone',
      'The control voltage: drums',
      'Struck and damped: hand',
      'In the pattern: hand',
      'The source alone: hiss',
      'The control voltage: loud',
      'Under the control voltage: under',
      'In the pattern: under',
      'In the mix',
    ]);
  });

  it('teaches each voice of a kit once, each in the pattern, and the mix at the end', () => {
    const stages = stagesOf(kit);
    const jacks = stages.map(({ jack, type }) => `${type} ${jackName(jack)}`);
    expect(new Set(jacks).size).toBe(jacks.length);
    const patterns = stages.filter(({ type }) => type === 'pattern');
    expect(patterns.map(({ jack }) => jack.module)).toEqual([
      'kick.level',
      'snare.skin-level',
      'snare.wires-level',
      'hats.closed-level',
      'hats.open-level',
    ]);
    expect(jacks[jacks.length - 1]).toBe('mix out.left');
    // Every module on a way to the sound is explained, and none twice.
    const explained = stages.flatMap(({ modules }) => modules.map(({ name }) => name));
    expect(new Set(explained).size).toBe(explained.length);
    for (const name of ['kick.body', 'snare.skin', 'snare.wires', 'hats.bright', 'hats.open-shape'])
      expect(explained).toContain(name);
  });

  it('knows which gates start a voice, and that what cuts it does not', () => {
    const open = stagesOf(kit).find(({ jack }) => jackName(jack) === 'hats.open-level.out');
    expect([...(open?.strokes ?? [])]).toEqual(['drums.open']);
  });

  it('ends on patches that go round in a circle, and has none where nothing is heard', () => {
    const { patch } = written(`
modules:
  tone: { kind: oscillator }
  mix: { kind: mixer, level-2: 50 % }
  soft: { kind: filter }
  split: { kind: multiple, jacks: 3 }
  out: { kind: output }
cables:
  - tone.sine -> mix.in-1
  - mix.out -> soft.in
  - soft.low -> split.in
  - split.out-1 -> mix.in-2
  - split.out-2 -> out.left
`);
    expect(told(patch)).toEqual([
      'source tone.sine',
      'shaped mix.out',
      'shaped soft.low',
      'mix out.left',
    ]);
    expect(stagesOf({ ...patch, cables: [] })).toEqual([]);
  });
});

describe('playStroke', () => {
  it('plays one stroke, with nothing before it and nothing after', () => {
    const jack = { module: 'hats.open-level', jack: 'out' };
    const stroke = playStroke(kit, jack, new Set(['drums.open']), { sampleRate: RATE, bars: 1 });
    const first = stroke.findIndex((value) => Math.abs(value) > 1e-3);
    // 50 ms of silence, and 1 ms until the trigger is noticed.
    close(first / RATE, 0.051, {
      abs: 0.001,
      unit: 's',
      why: 'the rise of 0.6 ms passes 1 mV within a millisecond',
    });
    const power = (from: number, to: number): number =>
      stroke.subarray(from * RATE, to * RATE).reduce((sum, value) => sum + value * value, 0);
    // A decay of 620 ms has a time constant of 124 ms: 100 ms on, the level is down by 7.0 dB.
    close(10 * Math.log10(power(0.06, 0.16) / power(0.16, 0.26)), (200 / 124) * 4.343, {
      abs: 0.6,
      unit: 'dB',
      why: '100 ms of noise through filters of some kHz holds about 1000 independent values: 0.2 dB each',
    });
    expect(Math.abs(stroke[stroke.length - 1] as number)).toBeLessThan(0.01);
  });

  it('plays a steady sound for two seconds', () => {
    const jack = { module: 'hiss', jack: 'white' };
    const played = playStroke(hat, jack, new Set(['drums.hat']), { sampleRate: RATE, bars: 1 });
    close(played.length / RATE, 2, { abs: 0.01, unit: 's', why: 'played in blocks of 2.7 ms' });
  });
});

describe('writeLesson', () => {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-test-'));
  let lesson: LessonFiles;
  let meter: SecondReader;
  beforeAll(async () => {
    meter = await secondReader();
    lesson = await writeLesson(hat, { ...HOW, folder, name: 'hat' });
  });

  const HOW = {
    sampleRate: RATE,
    depth: '24',
    bars: 1,
    onProgress: () => undefined,
    signal: new AbortController().signal,
    page: ({ stages }: Lesson) => stages.map(({ drawing }) => drawing).join('\n'),
  } as const;

  function readAt(path: string): { samples: Float64Array; wav: wavefile.WaveFile } {
    const wav = new wavefile.WaveFile(readFileSync(path));
    const samples = wav.getSamples(false, Float64Array) as unknown as Float64Array;
    return { wav, samples: samples.map((value) => value / 2 ** 23) };
  }

  function read(name: string): ReturnType<typeof readAt> {
    return readAt(join(folder, name));
  }

  function expectAlike(stages: LessonFiles['stages'], targetLufs: number | null): void {
    for (const { file } of stages.filter((stage) => stage.file.endsWith('.wav')))
      close(meter.loudnessMono(RATE, readAt(file).samples), targetLufs as number, {
        abs: 0.1,
        unit: 'LU',
        why: 'what was promised; two meters of BS.1770 differ by hundredths',
      });
  }

  it('numbers its files in the order of teaching', () => {
    expect(readdirSync(folder).sort()).toEqual([
      '.hat-lesson.forehear.json',
      '01-source-hiss-white.svg',
      '01-source-hiss-white.wav',
      '02-shaped-bright-high.svg',
      '02-shaped-bright-high.wav',
      '03-shaped-soft-low.svg',
      '03-shaped-soft-low.wav',
      '04-control-level-control.svg',
      '05-moved-level-out.svg',
      '05-moved-level-out.wav',
      '06-control-touch-control.svg',
      '07-moved-touch-out.svg',
      '07-moved-touch-out.wav',
      '08-mix-out-left.svg',
      '08-mix-out-left.wav',
      'hat-lesson.html',
      'hat-lesson.md',
      'hat-lesson.wav',
    ]);
    expect(
      lesson.stages.map(({ file }) => file.slice(folder.length + 1, folder.length + 3)),
    ).toEqual(['01', '02', '03', '04', '05', '06', '07', '08']);
  });

  it('brings all clips to one loudness, as an independent meter reads the files', () => {
    expectAlike(lesson.stages, lesson.targetLufs);
  });

  it('brings them there also where the mix is all under the gate of the meter, and its floor is not once it is loud', async () => {
    // A stroke of -44 dBFS and 4 ms in a second is under BS.1770's gate at -70 LUFS, and so is the noise under it.
    const soft = patchFrom(`
modules:
  drums: { kind: rhythm, tempo: 240 bpm, channels: [hat], patterns: { one: { hat: "X---------------" } }, song: [one] }
  hiss: { kind: noise, level: 2 V }
  shape: { kind: envelope, attack: 0.4 ms, decay: 4 ms, sustain: 0 %, mode: trigger }
  level: { kind: amplifier }
  sum: { kind: mixer, level-1: 1 %, level-2: 0.02 % }
  out: { kind: output }
cables:
  - drums.hat  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> sum.in-1
  - hiss.pink  -> sum.in-2
  - sum.out    -> out.left
`);
    const place = mkdtempSync(join(tmpdir(), 'forehear-test-'));
    const { stages, targetLufs } = await writeLesson(soft, { ...HOW, folder: place, name: 'soft' });
    expect(stages.at(-1)?.gainDb).toBeGreaterThan(40);
    expectAlike(stages, targetLufs);
  });

  it('joins the clips with a cue point at each and silence between', () => {
    const { wav, samples } = read('hat-lesson.wav');
    const cues = wav.listCuePoints() as unknown as { position: number; label: string }[];
    const heard = lesson.stages.filter(({ cue }) => cue !== undefined);
    expect(cues.map(({ label }) => label)).toEqual([
      '1 The source alone: hiss',
      '2 Filtered: bright',
      '3 Filtered: soft',
      '5 Enveloped: level',
      '7 Under the control voltage: touch',
      '8 In the pattern, and so the whole mix',
    ]);
    heard.forEach(({ cue = 0, file }, index) => {
      close((cues[index]?.position ?? 0) / 1000, cue, {
        abs: 0.001,
        unit: 's',
        why: 'the package gives whole milliseconds',
      });
      const clip = read(file.slice(folder.length + 1)).samples;
      const start = Math.round(cue * RATE);
      const part = samples.subarray(start, start + clip.length);
      // At once: the matcher would go through the samples one by one.
      expect(bytesOf(part).equals(bytesOf(clip))).toBe(true);
      const gap = samples.subarray(start + clip.length, start + clip.length + 0.5 * RATE);
      expect(gap.every((value) => value === 0)).toBe(true);
    });
  });

  it("explains each stage with the module's own description, and shows its picture", () => {
    const page = readFileSync(join(folder, 'hat-lesson.md'), 'utf8');
    for (const name of ['hiss', 'bright', 'soft', 'shape', 'level', 'accent', 'touch']) {
      const about = hat.modules.find((module) => module.name === name)?.definition.about as string;
      expect(page).toContain(about.slice(0, 40));
    }
    expect(page).toContain('Set to: cutoff 7 kHz, q 2.');
    for (const [, link] of page.matchAll(/\]\(([^)]+)\)/g))
      expect(readdirSync(folder)).toContain(link);
  });

  it('draws the envelope to its peak of 5 V', () => {
    const svg = readFileSync(join(folder, '04-control-level-control.svg'), 'utf8');
    expect(svg).toContain('>volts<');
    expect(svg).toContain('>5<');
    expect(svg).not.toMatch(/NaN|Infinity|undefined/);
  });
});
