// Reading WAV files made byte by byte from the format's definition: Multimedia Programming Interface and
// Data Specifications 1.0 (IBM & Microsoft, 1991) and EBU Tech 3306 (RF64), both from memory.

import { closeSync, mkdtempSync, openSync, rmSync, writeFileSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { WavFile } from '../../src/wav/read-wav.ts';
import { WavError } from '../../src/wav/wav-header.ts';
import { runs } from '../runs.ts';

const folder = mkdtempSync(join(tmpdir(), 'read-wav-'));
afterAll(() => rmSync(folder, { recursive: true }));

interface Header {
  tag?: number;
  channels?: number;
  sampleRate?: number;
  bits?: number;
  /** Where they are to lie. */
  blockAlign?: number;
  byteRate?: number;
  dataSize?: number;
  /** Sub-format and valid bits: makes the header extensible. */
  extensible?: { tag: number; validBits: number; guid?: string; mask?: number };
  /** Chunks between fmt and data. */
  between?: Buffer;
  long?: boolean;
}

function chunk(id: string, body: Buffer, size = body.length): Buffer {
  const head = Buffer.alloc(8);
  head.write(id, 'latin1');
  head.writeUInt32LE(size, 4);
  return Buffer.concat([head, body, Buffer.alloc(body.length % 2)]);
}

function wav(samples: Buffer, header: Header = {}): Buffer {
  const { channels = 1, sampleRate = 48000, bits = 16, extensible } = header;
  const blockAlign = header.blockAlign ?? (channels * bits) / 8;
  const fmt = Buffer.alloc(extensible === undefined ? 16 : 40);
  fmt.writeUInt16LE(extensible === undefined ? (header.tag ?? 1) : 0xfffe, 0);
  fmt.writeUInt16LE(channels, 2);
  fmt.writeUInt32LE(sampleRate, 4);
  fmt.writeUInt32LE(header.byteRate ?? sampleRate * blockAlign, 8);
  fmt.writeUInt16LE(blockAlign, 12);
  fmt.writeUInt16LE(bits, 14);
  if (extensible !== undefined) {
    fmt.writeUInt16LE(22, 16);
    fmt.writeUInt16LE(extensible.validBits, 18);
    fmt.writeUInt32LE(extensible.mask ?? 0, 20);
    fmt.writeUInt16LE(extensible.tag, 24);
    Buffer.from(extensible.guid ?? '000000001000800000aa00389b71', 'hex').copy(fmt, 26);
  }
  const isLong = header.long === true;
  const ds64 = Buffer.alloc(28);
  ds64.writeBigUInt64LE(BigInt(header.dataSize ?? samples.length), 8);
  const body = Buffer.concat([
    Buffer.from('WAVE'),
    isLong ? chunk('ds64', ds64) : Buffer.alloc(0),
    chunk('fmt ', fmt),
    header.between ?? Buffer.alloc(0),
    chunk('data', samples, isLong ? 0xffffffff : (header.dataSize ?? samples.length)),
  ]);
  const file = chunk(isLong ? 'RF64' : 'RIFF', body);
  if (isLong) file.writeUInt32LE(0xffffffff, 4);
  return file;
}

let made = 0;
function saved(bytes: Buffer): string {
  const path = join(folder, `${made++}.wav`);
  writeFileSync(path, bytes);
  return path;
}

/** All samples, channel by channel. */
function read(bytes: Buffer): { file: WavFile; channels: number[][] } {
  const file = new WavFile(saved(bytes));
  const channels: number[][] = Array.from({ length: file.channels }, () => []);
  for (const block of file.blocks) {
    block.channels.forEach((samples, c) => {
      for (let n = 0; n < block.frames; n++) channels[c]?.push(samples[n] as number);
    });
  }
  file.close();
  return { file, channels };
}

function refusal(bytes: Buffer): string {
  try {
    read(bytes);
  } catch (error) {
    expect(error).toBeInstanceOf(WavError);
    return (error as Error).message;
  }
  throw new Error('the file was read');
}

const bytes = (count: number, write: (buffer: Buffer) => void): Buffer => {
  const buffer = Buffer.alloc(count);
  write(buffer);
  return buffer;
};
const SIXTEEN = bytes(8, (b) => {
  b.writeInt16LE(-32768, 0);
  b.writeInt16LE(16384, 2);
  b.writeInt16LE(0, 4);
  b.writeInt16LE(32767, 6);
});

describe('samples', () => {
  it('of 8 bits are unsigned', () => {
    const { channels } = read(wav(Buffer.from([0, 128, 192, 255]), { bits: 8 }));
    expect(channels).toEqual([[-1, 0, 0.5, 127 / 128]]);
  });

  it('of 16 bits', () => {
    expect(read(wav(SIXTEEN)).channels).toEqual([[-1, 0.5, 0, 32767 / 32768]]);
  });

  it('of 24 bits', () => {
    const samples = Buffer.from([0, 0, 0x80, 0, 0, 0x40, 0xff, 0xff, 0xff, 0xff, 0xff, 0x7f]);
    const { channels } = read(wav(samples, { bits: 24 }));
    expect(channels).toEqual([[-1, 0.5, -1 / 2 ** 23, 1 - 1 / 2 ** 23]]);
  });

  it('of 32 bits', () => {
    const samples = bytes(8, (b) => {
      b.writeInt32LE(-(2 ** 31), 0);
      b.writeInt32LE(2 ** 29, 4);
    });
    expect(read(wav(samples, { bits: 32 })).channels).toEqual([[-1, 0.25]]);
  });

  it('of single and double precision, beyond full scale too', () => {
    const single = bytes(8, (b) => {
      b.writeFloatLE(-2.5, 0);
      b.writeFloatLE(0.75, 4);
    });
    expect(read(wav(single, { tag: 3, bits: 32 })).channels).toEqual([[-2.5, 0.75]]);
    const double = bytes(16, (b) => {
      b.writeDoubleLE(0.1, 0);
      b.writeDoubleLE(-1e-300, 8);
    });
    expect(read(wav(double, { tag: 3, bits: 64 })).channels).toEqual([[0.1, -1e-300]]);
  });

  it('of an extensible header, 20 bits in 24', () => {
    const extensible = { tag: 1, validBits: 20 };
    const { file, channels } = read(wav(Buffer.from([0, 0, 0x40]), { bits: 24, extensible }));
    expect(file.layout).toMatchObject({ bits: 20, bytes: 3, encoding: 'integer' });
    expect(channels).toEqual([[0.5]]);
  });

  it('of an extensible float header', () => {
    const samples = bytes(4, (b) => b.writeFloatLE(0.25, 0));
    const extensible = { tag: 3, validBits: 32 };
    expect(read(wav(samples, { bits: 32, extensible })).channels).toEqual([[0.25]]);
  });

  it('of several channels have the places that the mask says', () => {
    const samples = Buffer.alloc(12);
    // L, R, C, LFE and the two at the back: 5.1 (Microsoft, 2001). ITU-R BS.1770: no LFE, 1.41 behind.
    const extensible = { tag: 1, validBits: 16, mask: 0x3f };
    expect(read(wav(samples, { channels: 6, extensible })).file.weights).toEqual([
      1, 1, 1, 0, 1.41, 1.41,
    ]);
    const tracks = { tag: 1, validBits: 16, mask: 0 };
    expect(read(wav(samples, { channels: 6, extensible: tracks })).file.weights).toEqual([
      1, 1, 1, 1, 1, 1,
    ]);
    expect(read(wav(samples, { channels: 6 })).file.weights).toEqual([1, 1, 1, 0, 1.41, 1.41]);
    expect(read(wav(samples, { channels: 3 })).file.weights).toEqual([1, 1, 1]);
  });

  it('of several channels are told apart', () => {
    const samples = bytes(12, (b) => {
      for (let n = 0; n < 6; n++) b.writeInt16LE(n * 4096, 2 * n);
    });
    const { file, channels } = read(wav(samples, { channels: 3, sampleRate: 96000 }));
    expect(file.sampleRate).toBe(96000);
    expect(channels).toEqual([
      [0, 3 / 8],
      [1 / 8, 4 / 8],
      [2 / 8, 5 / 8],
    ]);
  });

  it('of any 16-bit values come back, however many blocks they fill', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -32768, max: 32767 }), { minLength: 1, maxLength: 50 }),
        fc.constantFrom(1, 1000),
        (values, repeats) => {
          const samples = bytes(2 * values.length, (b) => {
            values.forEach((value, n) => {
              b.writeInt16LE(value, 2 * n);
            });
          });
          const all = Buffer.concat(Array<Buffer>(repeats).fill(samples));
          const [channel = []] = read(wav(all)).channels;
          expect(channel.length).toBe(values.length * repeats);
          expect(channel.every((x, n) => x === (values[n % values.length] as number) / 32768)).toBe(
            true,
          );
        },
      ),
      runs(20),
    );
  });
});

describe('chunks', () => {
  it('other than fmt and data are passed over, odd ones with their pad byte', () => {
    const between = Buffer.concat([
      chunk('LIST', Buffer.from('INFO!')),
      chunk('junk', Buffer.alloc(1000)),
    ]);
    expect(read(wav(SIXTEEN, { between })).channels[0]?.length).toBe(4);
  });

  it('after the samples do not matter', () => {
    expect(read(Buffer.concat([wav(SIXTEEN), Buffer.from('tail')])).channels[0]?.length).toBe(4);
  });

  it('of RF64 give the size in ds64', () => {
    expect(read(wav(SIXTEEN, { long: true })).channels[0]?.length).toBe(4);
  });
});

describe('a file that is refused', () => {
  it.each([
    ['empty', Buffer.alloc(0), 'is empty'],
    ['text', Buffer.from('title: My patch, not a recording'), 'this is not a WAV file'],
    ['another kind', Buffer.from('fLaC0000000000000000'), 'this is a FLAC file'],
    [
      'another RIFF',
      Buffer.concat([Buffer.from('RIFF\x10\0\0\0AVI '), Buffer.alloc(16)]),
      'byte 8',
    ],
    ['cut in the header', wav(SIXTEEN).subarray(0, 9), 'byte 9: the file ends inside its header'],
    ['cut in fmt', wav(SIXTEEN).subarray(0, 24), 'cut short'],
    [
      'cut before data',
      wav(SIXTEEN).subarray(0, 36),
      'byte 36: the file ends without a data chunk',
    ],
    [
      'cut in the samples',
      wav(SIXTEEN).subarray(0, 49),
      'byte 40: the header says 8 bytes of samples, but the file holds 5',
    ],
    [
      'without samples',
      wav(Buffer.alloc(0)),
      'byte 40: the header says that there are no samples: the recording is empty',
    ],
    [
      'without samples, and finished',
      Buffer.concat([
        wav(Buffer.alloc(0)),
        chunk('LIST', Buffer.from('INFO'.repeat(3))),
        chunk('cue ', Buffer.alloc(5)),
      ]),
      'byte 40: the header says that there are no samples: the recording is empty',
    ],
    [
      'never finished, of silence',
      wav(Buffer.alloc(64), { dataSize: 0 }),
      'no samples, though 64 bytes follow: it was never finished',
    ],
    [
      'never finished',
      wav(Buffer.concat([SIXTEEN, SIXTEEN]), { dataSize: 0 }),
      'byte 40: the header says that there are no samples, though 16 bytes follow',
    ],
    [
      'longer than 4 GB by its header',
      wav(SIXTEEN, { dataSize: 0xfffffff0 }),
      'byte 40: the header says 4294967280 bytes',
    ],
    ['RF64 that lies', wav(SIXTEEN, { long: true, dataSize: 2 ** 40 }), 'says 1099511627776 bytes'],
    ['half a frame', wav(SIXTEEN.subarray(0, 6), { channels: 2 }), 'no whole number of frames'],
    [
      'no channels',
      wav(SIXTEEN, { channels: 0, blockAlign: 2 }),
      'byte 22: the header says 0 channels',
    ],
    ['no rate', wav(SIXTEEN, { sampleRate: 0 }), 'byte 24: the header says 0 Hz'],
    ['a wild rate', wav(SIXTEEN, { sampleRate: 0xffffffff, byteRate: 0 }), 'says 4294967295 Hz'],
    [
      'a wrong frame size',
      wav(SIXTEEN, { blockAlign: 4 }),
      'byte 32: the header says 4 bytes a frame',
    ],
    [
      'a wrong byte rate',
      wav(SIXTEEN, { byteRate: 44100 }),
      'byte 28: the header says 44100 bytes',
    ],
    ['no bits', wav(SIXTEEN, { bits: 0, blockAlign: 2 }), 'byte 34'],
    ['float of 16 bits', wav(SIXTEEN, { tag: 3 }), 'float samples of 16 bits'],
    ['A-law', wav(SIXTEEN, { tag: 6, bits: 8 }), 'byte 20: the samples are A-law'],
    [
      'a sub-format of its maker',
      wav(SIXTEEN, { extensible: { tag: 1, validBits: 16, guid: '00'.repeat(14) } }),
      'only their maker knows',
    ],
  ])('%s says so, and where', (_, file, expected) => {
    const message = refusal(file);
    expect(message).toContain(expected);
    expect(message).toMatch(/^.*\.wav: .*/);
  });

  it('names the place of a sample that is no number', () => {
    for (const bad of [Number.NaN, Number.NEGATIVE_INFINITY]) {
      const samples = Buffer.alloc(8 * 20000);
      samples.writeFloatLE(bad, 8 * 17000 + 4);
      const message = refusal(wav(samples, { tag: 3, bits: 32, channels: 2 }));
      expect(message).toContain(
        `byte ${44 + 8 * 17000 + 4}: the sample at frame 17000 (0.354 s) of channel 2 is ${bad}`,
      );
    }
  });

  it('never comes with anything but a WavError, whatever the bytes', () => {
    const whole = wav(SIXTEEN, { extensible: { tag: 1, validBits: 16 } });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(255)), { maxLength: 6 }),
        fc.nat(whole.length),
        (changes, length) => {
          const file = Buffer.from(whole.subarray(0, length));
          for (const [at, byte] of changes) if (at < length) file[at] = byte;
          try {
            read(file);
          } catch (error) {
            expect(error).toBeInstanceOf(WavError);
          }
        },
      ),
      runs(300),
    );
  });

  it('that is not there is the system’s error', () => {
    expect(() => new WavFile(join(folder, 'nowhere.wav'))).toThrow('ENOENT');
  });
});

describe('a file of more than 2 GB', () => {
  it('is read to its end, in memory that stays flat', () => {
    // A sparse file: its zeros take no room on the disk. Another chunk of 2 GB comes first, so that all samples lie
    // where a place has more than 31 bits, and need not be twice as long as what is looked for in memory.
    const path = join(folder, 'long.wav');
    const [other, size] = [2 ** 31, 2 ** 28];
    const whole = wav(Buffer.alloc(0), { tag: 3, channels: 2, bits: 64, dataSize: size });
    const [form, data] = [whole.subarray(0, -8), whole.subarray(-8)];
    const junk = Buffer.from('JUNK0000', 'latin1');
    junk.writeUInt32LE(other, 4);
    const start = form.length + junk.length + other + data.length;
    const last = Buffer.alloc(8);
    last.writeDoubleLE(0.25);
    const descriptor = openSync(path, 'w');
    writeSync(descriptor, Buffer.concat([form, junk]));
    writeSync(descriptor, data, 0, data.length, start - data.length);
    writeSync(descriptor, last, 0, last.length, start + size - last.length);
    closeSync(descriptor);
    const file = new WavFile(path);
    expect(file.layout).toMatchObject({ frames: size / 16, dataStart: start });
    let frames = 0;
    let most = 0;
    let end: number | undefined;
    const before = process.memoryUsage().rss;
    for (const { channels, frames: given } of file.blocks) {
      frames += given;
      end = channels[1]?.[given - 1];
      if (frames % (2 ** 14 * 64) === 0) most = Math.max(most, process.memoryUsage().rss);
    }
    file.close();
    expect(frames).toBe(size / 16);
    expect(end).toBe(0.25);
    // A block is 256 kB of bytes and as much of samples; the rest is what the runtime takes. The samples are 256 MB.
    expect(most).toBeGreaterThan(0);
    expect(most - before).toBeLessThan(60 * 2 ** 20);
  });
});
