// Files on the disk: complete or not at all, the same bytes however written, clear errors.

import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { OutputError, outputError } from '../../src/files/output-error.ts';
import { openWav, type WavOptions } from '../../src/wav/wav-file.ts';
import type { Cue } from '../../src/wav/wav-format.ts';
import { chunkOf, codesOf, cuePoints, listTexts, readRiff, viewOf } from '../riff.ts';

let folder: string;
let path: string;
beforeEach(() => {
  folder = fs.mkdtempSync(join(tmpdir(), 'forehear-wav-'));
  path = join(folder, 'hat.wav');
});
afterEach(() => fs.rmSync(folder, { recursive: true }));

const STEREO: WavOptions = { sampleRate: 44100, channels: 2, depth: '24' };

/** A ramp of codes, falling in the right channel, so that a lost or swapped sample would show. */
function ramp(frames: number, steps = 8388608): Float64Array[] {
  const left = new Float64Array(frames).map((_, i) => (i % 32768) / steps);
  return [left, left.map((x) => -x)];
}

async function write(options: WavOptions, channels: Float64Array[], block: number) {
  const frames = channels[0]?.length ?? 0;
  const writer = await openWav(path, options);
  for (let from = 0; from < frames; from += block) {
    const part = channels.map((samples) => samples.subarray(from, from + block));
    writer.write(part, part[0]?.length ?? 0);
  }
  return writer.finish();
}

describe('a finished file', () => {
  // More than one buffer of 256 KiB, and a last one that is not full.
  const FRAMES = 100_000;
  const channels = ramp(FRAMES);
  const codes = Array.from({ length: 2 * FRAMES }, (_, i) => {
    const code = Math.floor(i / 2) % 32768;
    return i % 2 === 0 ? code : 0 - code;
  });

  it.each([1, 4800, FRAMES])('holds every sample, written %s frames at a time', async (block) => {
    const result = await write({ ...STEREO, title: 'Ramp' }, channels, block);
    expect(result).toEqual({ path, frames: FRAMES, clipped: 0 });
    const riff = readRiff(fs.readFileSync(path));
    expect(riff.id).toBe('RIFF');
    expect(codesOf(chunkOf(riff, 'data').body, 24)).toEqual(codes);
    expect(listTexts(riff, 'INFO').get('INAM')).toBe('Ramp');
    expect(fs.readdirSync(folder)).toEqual(['hat.wav']);
  });

  it('is read by another reader', async () => {
    await write({ ...STEREO, cues: [{ sample: 44099, label: 'Bar 2' }] }, channels, 4800);
    const wav = new wavefile.WaveFile(fs.readFileSync(path));
    expect(wav.bitDepth).toBe('24');
    expect(wav.fmt).toMatchObject({ numChannels: 2, sampleRate: 44100, blockAlign: 6 });
    const [left, right] = wav.getSamples() as unknown as [Float64Array, Float64Array];
    expect(left.every((code, i) => code === codes[2 * i])).toBe(true);
    expect(right.every((code, i) => code === codes[2 * i + 1])).toBe(true);
    expect(wav.listCuePoints()).toMatchObject([{ dwSampleOffset: 44099, label: 'Bar 2' }]);
  });

  it('has the plain header when its length was known, and the same samples', async () => {
    await write({ ...STEREO, frames: FRAMES }, channels, 4800);
    const bytes = fs.readFileSync(path);
    // A RIFF chunk has 8 bytes ahead of its body, a list 4 more, a text a zero behind it and an even length.
    const software = 'Forehear'.length + 2;
    expect(bytes).toHaveLength(44 + 6 * FRAMES + 8 + 4 + 8 + software);
    expect(listTexts(readRiff(bytes), 'INFO').get('ISFT')).toBe('Forehear');
    expect(codesOf(chunkOf(readRiff(bytes), 'data').body, 24)).toEqual(codes);
  });

  it('keeps float samples to the bit', async () => {
    const samples = Float64Array.of(0.1, -3, 1e-30, 0).map(Math.fround);
    await write({ ...STEREO, depth: '32f' }, [samples, samples], 3);
    const view = viewOf(chunkOf(readRiff(fs.readFileSync(path)), 'data').body);
    expect([0, 1, 2, 3].map((i) => view.getFloat32(8 * i, true))).toEqual([...samples]);
  });

  it('is the same each time, dither included', async () => {
    const files: Uint8Array[] = [];
    for (const block of [777, 4800]) {
      await write({ ...STEREO, depth: '16' }, channels, block);
      files.push(fs.readFileSync(path));
    }
    expect(Buffer.compare(files[0] as Uint8Array, files[1] as Uint8Array)).toBe(0);
  });

  it('leaves out the dither when asked', async () => {
    await write({ ...STEREO, depth: '16', dither: false }, ramp(1000, 32768), 1000);
    const { body } = chunkOf(readRiff(fs.readFileSync(path)), 'data');
    expect(codesOf(body, 16)).toEqual(codes.slice(0, 2000));
  });

  it('has no cue point past its end', async () => {
    const cues = [0, 10, 11, 5000].map((sample) => ({ sample, label: `${sample}` }));
    await write({ ...STEREO, cues }, ramp(11), 4);
    const found = cuePoints(readRiff(fs.readFileSync(path))).map(({ sample }) => sample);
    expect(found).toEqual([0, 10]);
  });

  // 167 frames are 1002 bytes: less than a limit of 1100 with the header, more with the cue points.
  it.each([{ frames: 167 }, {}, { frames: 167, riffLimit: 1100 }])(
    'has cue points that are told at its end: %o',
    async (sizes) => {
      const cues: Cue[] = [];
      const told = { ...STEREO, ...sizes, cues: () => cues };
      const writer = await openWav(path, told);
      writer.write(ramp(167), 167);
      cues.push({ sample: 0, label: 'Bar 1' }, { sample: 150, label: 'Bar 2' });
      await writer.finish();
      const late = fs.readFileSync(path);
      expect(cuePoints(readRiff(late)).map(({ sample }) => sample)).toEqual([0, 150]);
      await write({ ...STEREO, ...sizes, cues }, ramp(167), 100);
      expect(Buffer.compare(late, fs.readFileSync(path))).toBe(0);
    },
  );

  it('counts the samples it had to limit', async () => {
    const loud = Float64Array.of(0.5, 1.5, -1.01, 1, -1);
    expect((await write(STEREO, [loud, loud], 5)).clipped).toBe(4);
    expect((await write({ ...STEREO, depth: '32f' }, [loud, loud], 5)).clipped).toBe(0);
  });

  it.each([true, false])('is RF64 past the limit, its length known: %s', async (isKnown) => {
    const options = { ...STEREO, title: 'Long', riffLimit: 1000, ...(isKnown && { frames: 167 }) };
    await write(options, ramp(167), 100);
    const riff = readRiff(fs.readFileSync(path));
    expect(riff.id).toBe('RF64');
    expect(riff.chunks.map(({ id }) => id)).toEqual(['ds64', 'fmt ', 'data', 'LIST']);
    expect(codesOf(chunkOf(riff, 'data').body, 24)).toEqual(codes.slice(0, 334));
  });

  it('replaces an older one, and through a link keeps the link', async () => {
    const linked = join(folder, 'kept.wav');
    fs.writeFileSync(linked, 'old');
    fs.symlinkSync(linked, path);
    await write(STEREO, ramp(3), 3);
    expect(fs.lstatSync(path).isSymbolicLink()).toBe(true);
    expect(readRiff(fs.readFileSync(linked)).id).toBe('RIFF');
  });

  it('can stand beside others in the making at the same place', async () => {
    const writers = [await openWav(path, STEREO), await openWav(path, STEREO)];
    for (const [i, writer] of writers.entries()) writer.write(ramp(5 + i), 5 + i);
    for (const writer of writers) await writer.finish();
    expect(chunkOf(readRiff(fs.readFileSync(path)), 'data').size).toBe(36);
    expect(fs.readdirSync(folder)).toEqual(['hat.wav']);
  });
});

describe('an unfinished file', () => {
  /** What stands in the folder: the old file, untouched, and nothing else. */
  function expectOnlyOld(): void {
    expect(fs.readdirSync(folder)).toEqual(['hat.wav']);
    expect(fs.readFileSync(path, 'utf8')).toBe('old');
  }
  beforeEach(() => fs.writeFileSync(path, 'old'));

  it('is not at its place until it is finished', async () => {
    const writer = await openWav(path, STEREO);
    writer.write(ramp(100_000), 100_000);
    expect(fs.readFileSync(path, 'utf8')).toBe('old');
    expect(fs.readdirSync(folder)).toHaveLength(2);
    writer.abandon();
    expectOnlyOld();
    writer.abandon();
    expect(() => writer.write(ramp(1), 1)).toThrow('finished or abandoned');
    await expect(writer.finish()).rejects.toThrow('finished or abandoned');
    expectOnlyOld();
  });

  it('is gone after a sample that is not a number', async () => {
    const writer = await openWav(path, STEREO);
    writer.write(ramp(10), 10);
    const bad = [new Float64Array(2), Float64Array.of(0, Number.NaN)];
    expect(() => writer.write(bad, 2)).toThrow('NaN in channel 1, frame 11');
    expectOnlyOld();
  });

  it('is gone when it did not get the frames it was promised', async () => {
    const writer = await openWav(path, { ...STEREO, frames: 10 });
    writer.write(ramp(9), 9);
    await expect(writer.finish()).rejects.toThrow('was to hold 10 frames and got 9');
    expectOnlyOld();
  });

  it('is never made when the options are impossible', async () => {
    await expect(openWav(path, { ...STEREO, sampleRate: 0 })).rejects.toThrow('sample rate');
    expectOnlyOld();
  });

  it('is gone when its place cannot be taken', async () => {
    const writer = await openWav(path, STEREO);
    writer.write(ramp(10), 10);
    fs.rmSync(path);
    fs.mkdirSync(join(path, 'full'), { recursive: true });
    await expect(writer.finish()).rejects.toThrow(OutputError);
    expect(fs.readdirSync(folder)).toEqual(['hat.wav']);
  });

  describe('on a disk that misbehaves', () => {
    type Write = (
      handle: number,
      bytes: Uint8Array,
      offset: number,
      length: number,
      position: number | null,
    ) => number;
    const writeSync: Write = fs.writeSync;
    function replaceWrite(replacement: Write): void {
      fs.writeSync = replacement as typeof fs.writeSync;
      syncBuiltinESMExports();
    }
    afterEach(() => {
      fs.writeSync = writeSync as typeof fs.writeSync;
      syncBuiltinESMExports();
    });

    it('is gone when the disk is full', async () => {
      const writer = await openWav(path, STEREO);
      replaceWrite(() => {
        throw Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });
      });
      expect(() => writer.write(ramp(100_000), 100_000)).toThrow(
        `${path}: could not be written: the disk is full. Free some space, or write to another disk.`,
      );
      expectOnlyOld();
    });

    it('is written on when the disk takes less than it is given', async () => {
      replaceWrite((handle, bytes, offset, length, position) =>
        writeSync(handle, bytes, offset, Math.min(length, 1000), position),
      );
      await write({ ...STEREO, title: 'Slow' }, ramp(5000), 5000);
      const { body } = chunkOf(readRiff(fs.readFileSync(path)), 'data');
      expect(codesOf(body, 24)[9998]).toBe(4999);
    });
  });
});

describe('a place that takes no file', () => {
  async function refusal(at: string): Promise<string> {
    const before = fs.readdirSync(folder, { recursive: true });
    const error = await openWav(at, STEREO).then(
      () => undefined,
      (reason: unknown) => reason,
    );
    expect(error).toBeInstanceOf(OutputError);
    expect((error as OutputError).path).toBe(at);
    expect(fs.readdirSync(folder, { recursive: true })).toEqual(before);
    return (error as OutputError).message;
  }

  it('is a folder', async () => {
    expect(await refusal(folder)).toBe(
      `${folder}: could not be written: it is a folder. Give the file another name.`,
    );
  });

  it('is in a folder that does not exist', async () => {
    expect(await refusal(join(folder, 'none', 'hat.wav'))).toContain('its folder does not exist');
  });

  it('is under a file', async () => {
    fs.writeFileSync(path, 'old');
    expect(await refusal(join(path, 'hat.wav'))).toContain('is a file, not a folder');
  });

  it('has too long a name', async () => {
    expect(await refusal(join(folder, 'x'.repeat(300)))).toContain('its name is too long');
  });

  it('is a device, which a rename would destroy', async () => {
    expect(await refusal('/dev/null')).toContain('it is not a plain file');
    expect(fs.statSync('/dev/null').isCharacterDevice()).toBe(true);
  });
});

it('says of every failure what, where, why and what to do', () => {
  // Codes of POSIX.1, errno.h.
  for (const code of ['EACCES', 'EPERM', 'EROFS', 'ENOSPC', 'EDQUOT', 'EFBIG', 'EMFILE', 'EIO']) {
    const error = outputError('a.wav', Object.assign(new Error('raw'), { code }));
    expect(error.message).toMatch(/^a\.wav: could not be written: [a-z -]+\. [A-Z][a-z ,]+\.$/);
    expect(error.message).not.toContain('raw');
  }
  expect(outputError('a.wav', new Error('odd')).message).toContain('odd');
});
