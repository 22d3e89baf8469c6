// Head and tail of WAV files against the published layouts, read back by two independent readers:
// the `wavefile` package and test/riff.ts.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { type WavSizes, type WavSpec, wavParts } from '../../src/wav/wav-format.ts';
import { SAMPLE_BYTES } from '../../src/wav/wav-pack.ts';
import { reference } from '../reference.ts';
import { chunkOf, cuePoints, listTexts, readRiff, viewOf } from '../riff.ts';
import { runs } from '../runs.ts';

const expected = (id: string) =>
  reference<unknown, Record<string, string | number> & { offsets?: number[] }>('pcm', id).expected;

const MONO: WavSpec = { sampleRate: 48000, channels: 1, depth: '16' };
const LIMIT = 2 ** 32 - 1;

/** A whole file, its samples all zero. */
async function file(spec: WavSpec, sizes: WavSizes): Promise<Uint8Array> {
  const { head, tail } = await wavParts(spec, sizes);
  const data = sizes.frames * spec.channels * SAMPLE_BYTES[spec.depth];
  return Buffer.concat([head, new Uint8Array(data), tail]);
}

const hex = (bytes: Uint8Array) => Buffer.from(bytes).toString('hex');
const ascii = (bytes: Uint8Array, from: number) =>
  String.fromCharCode(...bytes.subarray(from, from + 4));

describe('a plain file', () => {
  it('has the 44 header bytes that other writers give it (S-pcm-07)', async () => {
    const { head, tail } = await wavParts(MONO, { frames: 48000 });
    expect(hex(head)).toBe(expected('S-pcm-07').hex);
    expect(tail).toHaveLength(0);
  });

  it('has a pad byte after an odd number of bytes, which only the RIFF size counts (S-pcm-08)', async () => {
    const bytes = await file({ ...MONO, depth: '24' }, { frames: 3 });
    const { data_size, riff_size, file_bytes } = expected('S-pcm-08');
    expect(bytes).toHaveLength(Number(file_bytes));
    expect(viewOf(bytes).getUint32(4, true)).toBe(riff_size);
    expect(chunkOf(readRiff(bytes), 'data').size).toBe(data_size);
  });

  it('may be empty', async () => {
    expect(chunkOf(readRiff(await file(MONO, { frames: 0 })), 'data').size).toBe(0);
  });
});

describe('the fmt chunk', () => {
  async function format(spec: Partial<WavSpec>) {
    const riff = readRiff(await file({ ...MONO, ...spec }, { frames: 2 }));
    const { body, size } = chunkOf(riff, 'fmt ');
    return { riff, size, body, view: viewOf(body), tag: viewOf(body).getUint16(0, true) };
  }

  it('is plain for PCM of one or two channels (S-pcm-11)', async () => {
    const { tag, fmt_size } = expected('S-pcm-11');
    for (const channels of [1, 2]) {
      for (const depth of ['16', '24'] as const) {
        expect(await format({ channels, depth })).toMatchObject({ tag, size: fmt_size });
      }
    }
  });

  it('is extensible for more channels (S-pcm-12)', async () => {
    const { tag, fmt_size, cb_size, guid } = expected('S-pcm-12');
    const found = await format({ channels: 5, depth: '24', sampleRate: 44100 });
    expect(found).toMatchObject({ tag, size: fmt_size });
    expect(hex(found.body.subarray(24))).toBe(guid);
    // Field order of WAVEFORMATEXTENSIBLE, mmreg.h (from memory).
    const { view } = found;
    expect(view.getUint16(2, true)).toBe(5);
    expect(view.getUint32(4, true)).toBe(44100);
    expect(view.getUint32(8, true)).toBe(44100 * 5 * 3);
    expect(view.getUint16(12, true)).toBe(5 * 3);
    expect(view.getUint16(14, true)).toBe(24);
    expect(view.getUint16(16, true)).toBe(cb_size);
    expect(view.getUint16(18, true)).toBe(24);
    expect(view.getUint32(20, true)).toBe(0);
  });

  it('says 3 for float, in the GUID if there are more channels, with a fact chunk', async () => {
    // Tag 3: RFC 2361. An extension size and a fact chunk for all but PCM: "New Multimedia Data Types
    // and Data Techniques" (Microsoft, 1994; from memory).
    const stereo = await format({ channels: 2, depth: '32f' });
    expect(stereo).toMatchObject({ tag: 3, size: 18 });
    const many = await format({ channels: 3, depth: '32f' });
    expect(many).toMatchObject({ tag: 0xfffe, size: 40 });
    expect(hex(many.body.subarray(24))).toBe('0300000000001000800000aa00389b71');
    for (const { riff } of [stereo, many]) {
      expect(viewOf(chunkOf(riff, 'fact').body).getUint32(0, true)).toBe(2);
    }
  });
});

describe('cue points', () => {
  it('are the bytes of the standard (S-pcm-13)', async () => {
    const { hex: wanted, offsets } = expected('S-pcm-13');
    const cues = (offsets ?? []).map((sample) => ({ sample, label: 'x' }));
    const { tail } = await wavParts({ ...MONO, cues }, { frames: 25000 });
    expect(hex(tail).startsWith(String(wanted))).toBe(true);
  });

  it('stand in order, each with its own id and label, exactly where they were put', async () => {
    const frame = fc.integer({ min: 0, max: 2 ** 32 + 1000 });
    const cue = fc.record({ sample: frame, label: fc.string({ unit: 'grapheme', maxLength: 12 }) });
    await fc.assert(
      fc.asyncProperty(
        fc.array(cue, { minLength: 1, maxLength: 130 }),
        frame,
        async (cues, end) => {
          const spec: WavSpec = { ...MONO, sampleRate: 44100, cues, title: 'Bars' };
          // The samples are left out: a head for no frames keeps the sizes true.
          const { tail } = await wavParts(spec, { frames: end });
          const { head } = await wavParts({ ...MONO }, { frames: 0 });
          const bytes = Buffer.concat([head, tail]);
          bytes.writeUInt32LE(bytes.length - 8, 4);
          const wanted = cues
            .filter(({ sample }) => sample < Math.min(end, LIMIT))
            .sort((a, b) => a.sample - b.sample);
          const riff = readRiff(bytes);
          if (wanted.length === 0) {
            expect(riff.chunks.map(({ id }) => id)).toEqual(['fmt ', 'data', 'LIST']);
            return;
          }
          const points = cuePoints(riff);
          const labels = listTexts(riff, 'adtl');
          expect(points.map(({ sample }) => sample)).toEqual(wanted.map(({ sample }) => sample));
          expect(points.map(({ id }) => id)).toEqual(wanted.map((_, i) => i + 1));
          expect(points.map(({ id }) => labels.get(id))).toEqual(
            wanted.map(({ label }) => label.replaceAll('\0', ' ')),
          );
        },
      ),
      runs(40),
    );
  });

  it('are read by another reader', async () => {
    const cues = Array.from({ length: 120 }, (_, i) => ({ sample: 7 * i, label: `Bar ${i + 1}` }));
    const wav = new wavefile.WaveFile(await file({ ...MONO, cues }, { frames: 1000 }));
    const found = wav.listCuePoints() as { dwSampleOffset: number; label: string }[];
    expect(found.map(({ dwSampleOffset, label }) => ({ sample: dwSampleOffset, label }))).toEqual(
      cues,
    );
  });
});

describe('title and comment', () => {
  it('are INFO texts, in UTF-8', async () => {
    const spec: WavSpec = {
      ...MONO,
      title: 'Offene Hände, 3 Übungen',
      comment: '10 V is full scale',
    };
    const bytes = await file(spec, { frames: 4 });
    const texts = listTexts(readRiff(bytes), 'INFO');
    expect(Object.fromEntries(texts)).toEqual({ INAM: spec.title, ICMT: spec.comment });
    expect(new wavefile.WaveFile(bytes).getTag('INAM')).toBe(spec.title);
  });

  it('lose what the format cannot hold: a zero and half a surrogate pair', async () => {
    const bytes = await file({ ...MONO, title: 'a\0b\ud800c' }, { frames: 4 });
    expect(listTexts(readRiff(bytes), 'INFO').get('INAM')).toBe('a\ufffdb\ufffdc');
  });

  it('make no chunk when empty', async () => {
    const { tail } = await wavParts({ ...MONO, title: '', comment: '' }, { frames: 4 });
    expect(tail).toHaveLength(0);
  });
});

describe('a file past 4 GiB', () => {
  const STEREO: WavSpec = { sampleRate: 48000, channels: 2, depth: '16' };
  /** S-pcm-09: the longest plain file. */
  const longest = Number(expected('S-pcm-09').frames);

  it('is plain RIFF up to the last frame that the size field can hold (S-pcm-09)', async () => {
    const { head } = await wavParts(STEREO, { frames: longest });
    expect(ascii(head, 0)).toBe('RIFF');
    expect(viewOf(head).getUint32(4, true)).toBe(36 + longest * 4);
    expect(viewOf(head).getUint32(40, true)).toBe(longest * 4);
  });

  it('is RF64 from the next frame on', async () => {
    const frames = longest + 1;
    const { head } = await wavParts(STEREO, { frames });
    expect(ascii(head, 0)).toBe('RF64');
    expect(ascii(head, 12)).toBe('ds64');
    expect(viewOf(head).getBigUint64(20, true)).toBe(BigInt(head.length - 8 + frames * 4));
    expect(viewOf(head).getBigUint64(28, true)).toBe(BigInt(frames * 4));
    expect(viewOf(head).getBigUint64(36, true)).toBe(BigInt(frames));
  });

  it('counts the room kept for RF64, the title and the cue points toward the limit', async () => {
    const spec: WavSpec = { ...STEREO, title: 'Long', cues: [{ sample: 0, label: 'Bar 1' }] };
    const sizes = { frames: longest, roomForRf64: true };
    const { head, tail } = await wavParts(spec, sizes);
    expect(ascii(head, 0)).toBe('RF64');
    const over = head.length + longest * 4 + tail.length - 8 - LIMIT;
    // Whole frames of 4 bytes fewer: then it fits.
    const fits = longest - Math.ceil(over / 4);
    const shorter = await wavParts(spec, { ...sizes, frames: fits });
    expect(ascii(shorter.head, 0)).toBe('RIFF');
    expect(ascii(shorter.head, 12)).toBe('JUNK');
    expect(shorter.head).toHaveLength(head.length);
    const riffSize = viewOf(shorter.head).getUint32(4, true);
    expect(riffSize).toBe(head.length + fits * 4 + shorter.tail.length - 8);
    const next = await wavParts(spec, { ...sizes, frames: fits + 1 });
    expect(ascii(next.head, 0)).toBe('RF64');
  });

  it('has the header fields that another writer gives it (S-pcm-10)', async () => {
    const wanted = expected('S-pcm-10');
    const { head } = await wavParts(MONO, { frames: 1000, riffLimit: 1000 });
    const view = viewOf(head);
    expect({
      id: ascii(head, 0),
      riff32: view.getUint32(4, true),
      first_chunk: ascii(head, 12),
      ds64_size: view.getUint32(16, true),
      riff64: Number(view.getBigUint64(20, true)),
      data64: Number(view.getBigUint64(28, true)),
      samples64: Number(view.getBigUint64(36, true)),
      table: view.getUint32(44, true),
      data32: view.getUint32(head.length - 4, true),
      header_bytes: head.length,
    }).toEqual(wanted);
  });

  it('says how many frames it has in ds64 where the fact chunk cannot', async () => {
    const frames = 2 ** 32 + 5;
    const { head } = await wavParts({ ...MONO, depth: '32f' }, { frames });
    const fact = Buffer.from(head).indexOf('fact');
    expect(viewOf(head).getUint32(fact + 8, true)).toBe(LIMIT);
    expect(viewOf(head).getBigUint64(36, true)).toBe(BigInt(frames));
  });
});

it('has a head of one length whatever the frames when room is asked for', async () => {
  const lengths = new Set<number>();
  for (const frames of [0, 1, 48000, 2 ** 30, 2 ** 31, 2 ** 40]) {
    lengths.add((await wavParts(MONO, { frames, roomForRf64: true })).head.length);
  }
  expect([...lengths]).toEqual([80]);
});

it.each<[string, Partial<WavSpec> & { frames?: number }]>([
  ['sample rate', { sampleRate: 44100.5 }],
  ['sample rate', { sampleRate: 0 }],
  ['number of channels', { channels: 0 }],
  ['number of frames', { frames: -1 }],
  ['number of frames', { frames: Number.NaN }],
  ['cue point', { cues: [{ sample: 0.5, label: '' }] }],
])('refuses an impossible %s', async (what, { frames = 1, ...spec }) => {
  await expect(wavParts({ ...MONO, ...spec }, { frames })).rejects.toThrow(what);
});
