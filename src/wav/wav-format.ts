/**
 * Makes the parts before and after the samples of a WAV file: header, title, cue points, and the
 * 64-bit sizes of a file past 4 GiB. Uses nothing of Node, so the page can make files too: a whole
 * file is head + packed samples + tail.
 *
 * Sources: Multimedia Programming Interface and Data Specifications 1.0 (IBM & Microsoft, 1991), RIFF
 * and WAVE, ISFT of the INFO list; EBU Tech 3306 (RF64). The `wavefile` package lays out the chunks; where it differs from
 * these (the fact chunk, more than two channels, RF64) its fields are set here.
 *
 * The chunks: RIFF, [JUNK or ds64], fmt, [fact], data, [cue, LIST adtl], [smpl], [LIST INFO]. Cue points and
 * title come last because some readers expect the samples right behind a header of 44 bytes.
 */

import type { WaveFile } from 'wavefile';
import { inOneLine } from '../text/printable.ts';
import { type FileDepth, SAMPLE_BYTES } from './wav-pack.ts';

/** A named place in a WAV file, such as the start of a bar. */
export interface Cue {
  /** The frame it marks, a whole number from 0. */
  readonly sample: number;
  readonly label: string;
}

/** What a WAV file says besides its samples. */
export interface WavSpec {
  /** Hz, a whole number. */
  readonly sampleRate: number;
  readonly channels: number;
  readonly depth: FileDepth;
  readonly title?: string;
  readonly comment?: string;
  /** The program that makes the file. */
  readonly software?: string;
  /** The MIDI note, 0 to 127, at which a sampler plays it as it is. */
  readonly rootNote?: number;
  /**
   * In any order. Those at or past the end of the file are left out. A function is asked for them once all
   * samples are there.
   */
  readonly cues?: readonly Cue[] | (() => readonly Cue[]);
}

export interface WavSizes {
  /** Frames in the data chunk. */
  readonly frames: number;
  /** Whether the head keeps the same length however long the file gets; costs 36 bytes. */
  readonly roomForRf64?: boolean;
  /**
   * The largest size in bytes that the RIFF field may hold before the file becomes RF64. 2^32 - 1
   * unless given; some readers take no more than 2^31 - 1.
   */
  readonly riffLimit?: number;
}

export interface WavParts {
  /** Everything before the first sample. */
  readonly head: Uint8Array<ArrayBuffer>;
  /** Everything after the last sample, with the pad byte that an odd number of bytes needs. */
  readonly tail: Uint8Array<ArrayBuffer>;
}

/** What files made here name as their program. */
export const SOFTWARE = 'Forehear';

/** The largest number that a field of 32 bits holds, and so the largest size of a RIFF file. */
export const MAX_UINT32 = 0xffffffff;
const DS64_BYTES = 28;
const FORMAT_FLOAT = 3;
const FORMAT_EXTENSIBLE = 0xfffe;
/** The rest of the GUID 0000xxxx-0000-0010-8000-00AA00389B71, whose first field is the format. */
const GUID_REST = [0x00100000, 0xaa000080, 0x719b3800];
/** `wavefile` joins byte lists by copying: 50 points take 1 ms, 2000 at once would take 4 s. */
const CUES_AT_ONCE = 50;

/** The names that `wavefile` has for them. */
const WAVEFILE_DEPTHS: { readonly [D in FileDepth]: string } = {
  '16': '16',
  '24': '24',
  '32f': '32f',
  '64f': '64',
};

/**
 * Makes the head and the tail of a WAV file.
 * @throws Error if the sample rate, the channels, the frames or a cue are not whole numbers in the
 *   format's range.
 */
export async function wavParts(spec: WavSpec, sizes: WavSizes): Promise<WavParts> {
  const { frames } = sizes;
  requireWhole('sample rate', spec.sampleRate, 1, MAX_UINT32);
  requireWhole('number of channels', spec.channels, 1, 0xffff);
  requireWhole('number of frames', frames, 0, Number.MAX_SAFE_INTEGER);
  // Loaded here because a command that writes no WAV should not wait for it.
  const { WaveFile } = (await import('wavefile')).default;
  const wav = new WaveFile();
  wav.fromScratch(spec.channels, spec.sampleRate, WAVEFILE_DEPTHS[spec.depth], []);
  describeFormat(wav, spec, frames);
  if (spec.title) wav.setTag('INAM', text(spec.title));
  if (spec.comment) wav.setTag('ICMT', text(spec.comment));
  if (spec.software) wav.setTag('ISFT', text(spec.software));
  const given = typeof spec.cues === 'function' ? spec.cues() : spec.cues;
  const cues = cueChunks(new WaveFile(), given ?? [], frames);

  const dataBytes = frames * spec.channels * SAMPLE_BYTES[spec.depth];
  const plain = split(wav.toBuffer());
  const sampler = spec.rootNote === undefined ? [] : [samplerChunk(spec.rootNote, spec.sampleRate)];
  const tail = concat([new Uint8Array(dataBytes % 2), cues, ...sampler, plain.tail]);
  const riffSize = (head: Uint8Array) => head.length + dataBytes + tail.length - 8;
  const fits = (head: Uint8Array) => riffSize(head) <= (sizes.riffLimit ?? MAX_UINT32);
  let { head } = plain;
  if (sizes.roomForRf64 || !fits(head)) {
    wav.junk = { chunkId: 'JUNK', chunkData: new Array<number>(DS64_BYTES).fill(0) };
    head = split(wav.toBuffer()).head;
  }
  if (fits(head)) setSizes(head, riffSize(head), dataBytes);
  else setLongSizes(head, riffSize(head), dataBytes, frames);
  return { head, tail };
}

/**
 * Sets the fields of the fmt and fact chunks in which `wavefile` differs from the standard.
 *
 * Deviation: with one or two channels 24-bit PCM keeps the plain tag 1, where the extensible tag is
 * recommended above 16 bits: readers that know only the plain tags are still common.
 */
function describeFormat(wav: WaveFile, spec: WavSpec, frames: number): void {
  const isFloat = spec.depth === '32f' || spec.depth === '64f';
  // Formats other than integer PCM must have a fact chunk and the size of the fmt extension.
  if (isFloat) {
    Object.assign(wav.fmt, { chunkSize: 18, cbSize: 0 });
    Object.assign(wav.fact, {
      chunkId: 'fact',
      chunkSize: 4,
      dwSampleLength: Math.min(frames, MAX_UINT32),
    });
  }
  if (spec.channels > 2) {
    Object.assign(wav.fmt, {
      chunkSize: 40,
      audioFormat: FORMAT_EXTENSIBLE,
      cbSize: 22,
      validBitsPerSample: SAMPLE_BYTES[spec.depth] * 8,
      dwChannelMask: 0, // no loudspeaker positions: channels are jacks, in order
      subformat: [isFloat ? FORMAT_FLOAT : 1, ...GUID_REST],
    });
  }
}

/**
 * The chunks `cue ` and `LIST adtl`, or nothing if there are no cue points.
 *
 * Positions go in as frames rather than through `setCuePoint`, which takes milliseconds and leaves
 * the position field zero, where the standard wants the frame number in both fields. Deviation: cue
 * points past 2^32 - 2 frames (24 hours at 48 kHz) are left out; the field is 32 bits wide.
 */
function cueChunks(wav: WaveFile, cues: readonly Cue[], frames: number): Uint8Array {
  for (const cue of cues) requireWhole('cue point', cue.sample, 0, Number.MAX_SAFE_INTEGER);
  const sorted = cues
    .filter((cue) => cue.sample < Math.min(frames, MAX_UINT32))
    .sort((a, b) => a.sample - b.sample);
  if (sorted.length === 0) return new Uint8Array(0);
  const points: Uint8Array[] = [];
  const labels: Uint8Array[] = [];
  for (let first = 0; first < sorted.length; first += CUES_AT_ONCE) {
    const group = sorted.slice(first, first + CUES_AT_ONCE);
    wav.fromScratch(1, 8000, '16', []);
    wav.cue = {
      chunkId: 'cue ',
      dwCuePoints: group.length,
      points: group.map((cue, i) => ({
        dwName: first + i + 1,
        dwPosition: cue.sample,
        fccChunk: 'data',
        dwChunkStart: 0,
        dwBlockStart: 0,
        dwSampleOffset: cue.sample,
      })),
    };
    wav.LIST = [
      {
        chunkId: 'LIST',
        format: 'adtl',
        subChunks: group.map((cue, i) => ({
          chunkId: 'labl',
          dwName: first + i + 1,
          value: text(cue.label),
        })),
      },
    ];
    const { tail } = split(wav.toBuffer());
    const listAt = 12 + group.length * 24; // id, size, count; then the records
    points.push(tail.subarray(12, listAt));
    labels.push(tail.subarray(listAt + 12));
  }
  const count = new Uint8Array(4);
  new DataView(count.buffer).setUint32(0, sorted.length, true);
  return concat([chunk('cue ', [count, ...points]), chunk('LIST', [ascii('adtl'), ...labels])]);
}

/**
 * The chunk `smpl`: nine fields of 32 bits, of which the third is the period of a sample in ns and the fourth
 * the note; no pitch beside it, no time code, no loops.
 *
 * Source: Multimedia Data Standards Update, revision 3.0 (Microsoft, 1994), Sample Chunk (from memory).
 */
function samplerChunk(note: number, sampleRate: number): Uint8Array {
  requireWhole('root note', note, 0, 127);
  const body = new Uint8Array(36);
  const view = new DataView(body.buffer);
  view.setUint32(8, Math.round(1e9 / sampleRate), true);
  view.setUint32(12, note, true);
  return chunk('smpl', [body]);
}

/** Cuts a file without samples behind the head of its data chunk. */
function split(file: Uint8Array) {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  let at = 12;
  while (view.getUint32(at) !== 0x64617461 /* 'data' */) at += 8 + view.getUint32(at + 4, true);
  return { head: new Uint8Array(file.subarray(0, at + 8)), tail: file.subarray(at + 8) };
}

/** Fills in the sizes of a RIFF file, which stand at the start and at the end of the head. */
function setSizes(head: Uint8Array, riffSize: number, dataBytes: number): void {
  const view = new DataView(head.buffer);
  view.setUint32(4, riffSize, true);
  view.setUint32(head.length - 4, dataBytes, true);
}

/** Turns a head that has a JUNK chunk into RF64: the 32-bit sizes are all ones, the true ones are in ds64. */
function setLongSizes(head: Uint8Array, riffSize: number, dataBytes: number, frames: number): void {
  setSizes(head, MAX_UINT32, MAX_UINT32);
  head.set(ascii('RF64'), 0);
  head.set(ascii('ds64'), 12);
  const view = new DataView(head.buffer);
  view.setBigUint64(20, BigInt(riffSize), true);
  view.setBigUint64(28, BigInt(dataBytes), true);
  view.setBigUint64(36, BigInt(frames), true);
  // The table of other long chunks stays empty: its length is 0.
}

function chunk(id: string, contents: readonly Uint8Array[]): Uint8Array {
  const body = concat(contents);
  const size = new Uint8Array(4);
  new DataView(size.buffer).setUint32(0, body.length, true);
  return concat([ascii(id), size, body]);
}

function concat(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.length;
  }
  return bytes;
}

function ascii(id: string): Uint8Array {
  return Uint8Array.from(id, (letter) => letter.charCodeAt(0));
}

/** A text as the format can hold it: a zero would end it, and half a surrogate pair cannot be encoded. */
function text(value: string): string {
  return inOneLine(value);
}

function requireWhole(what: string, value: number, min: number, max: number): void {
  if (!Number.isInteger(value) || value < min || value > max) {
    throw new Error(`a WAV file's ${what} must be a whole number from ${min} to ${max}: ${value}`);
  }
}
