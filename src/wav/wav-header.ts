/**
 * Finds the samples in a WAV file: walks its chunks, and refuses what does not add up. Uses nothing of
 * Node, so the page can read files too.
 *
 * Sources: Multimedia Programming Interface and Data Specifications 1.0 (IBM & Microsoft, 1991), RIFF
 * and WAVE; Multiple Channel Audio Data and WAVE Files (Microsoft, 2001), WAVE_FORMAT_EXTENSIBLE; EBU
 * Tech 3306 and ITU-R BS.2088, RF64 and BW64 (all from memory).
 */

/** Gives the bytes from a position on: as many as asked for, or fewer where the file ends. */
export type ReadAt = (position: number, length: number) => Uint8Array;

export interface WavLayout {
  /** Hz. */
  readonly sampleRate: number;
  readonly channels: number;
  readonly encoding: 'integer' | 'float';
  /** Bits that count, from 1 to 64; they fill the upper end of `bytes`. */
  readonly bits: number;
  /** Bytes of one sample: 1, 2, 3, 4 or 8. */
  readonly bytes: number;
  readonly frames: number;
  /** The bits of the places that the channels are meant for; null if the format has none. */
  readonly channelMask: number | null;
  /** Where the first sample starts. */
  readonly dataStart: number;
}

/** Bits of a sample that make steps; 0 for floating point, which has no coarsest one. */
export function steppedBits({ bits, encoding }: WavLayout): number {
  return encoding === 'float' ? 0 : bits;
}

/** A file that is no WAV, or contradicts itself: says where, in bytes from the start; of another kind of file only what it is. */
export class WavError extends Error {}

const PCM = 1;
const FLOAT = 3;
const EXTENSIBLE = 0xfffe;
/** 0000xxxx-0000-0010-8000-00AA00389B71: what follows the format in a sub-format. */
const GUID_REST = '0000000010008000 00aa00389b71'.replace(' ', '');
const IN_DS64 = 0xffffffff;
const MOST_CHANNELS = 256;
const HIGHEST_RATE = 1_000_000;
/** More chunks than this before the samples are no recording. */
const MOST_CHUNKS = 10_000;

const OTHER_KINDS: readonly (readonly [start: string, kind: string])[] = [
  ['fLaC', 'a FLAC file'],
  ['OggS', 'an Ogg file'],
  ['FORM', 'an AIFF file'],
  ['ID3', 'an MP3 file'],
  ['RIFX', 'a WAV file in big-endian order'],
  ['caff', 'a CAF file'],
];
const OTHER_FORMATS: Readonly<Record<number, string>> = {
  2: 'ADPCM',
  6: 'A-law',
  7: 'mu-law',
  17: 'ADPCM',
  85: 'MP3',
};

interface SampleFormat {
  readonly sampleRate: number;
  readonly channels: number;
  readonly encoding: 'integer' | 'float';
  readonly bits: number;
  readonly bytes: number;
  readonly blockAlign: number;
  readonly channelMask: number | null;
}

/**
 * Reads the header.
 * @param size bytes of the whole file.
 * @throws WavError if the file is empty, no WAV, of a format other than PCM and IEEE float, cut short,
 * without samples, or if its header contradicts itself or the file's size.
 */
export function readLayout(readAt: ReadAt, size: number): WavLayout {
  if (size === 0) throw new WavError('the file is empty; a WAV file was expected');
  const isLong = requireWave(readAt(0, 12));
  let format: SampleFormat | undefined;
  let longSize: number | undefined;
  let at = 12;
  for (let count = 0; at + 8 <= size && count < MOST_CHUNKS; count++) {
    const head = readAt(at, 8);
    if (head.length < 8) break;
    const id = text(head, 0, 4);
    const length = view(head).getUint32(4, true);
    const body = at + 8;
    if (id === 'ds64' && isLong) longSize = readLongSize(readAt(body, 28), at);
    if (id === 'fmt ') format = readFormat(readAt(body, Math.min(length, 40)), length, at);
    if (id === 'data') {
      const isInDs64 = isLong && length === IN_DS64;
      if (isInDs64 && longSize === undefined) {
        throw wrong(at, 'the data chunk leaves its size to a ds64 chunk, which is missing');
      }
      const bytes = isInDs64 ? (longSize as number) : length;
      if (bytes === 0 && format !== undefined) throw withoutSamples(readAt, body, size);
      return layout(format, bytes, body, size);
    }
    at = body + length + (length % 2);
  }
  if (at > size && format === undefined) {
    throw wrong(12, 'the file ends before its fmt chunk does: it is cut short');
  }
  throw wrong(
    Math.min(at, size),
    format === undefined
      ? 'the file ends without a fmt chunk, so what its samples are is not known'
      : 'the file ends without a data chunk: it holds no samples, or is cut short',
  );
}

function requireWave(head: Uint8Array): boolean {
  const id = text(head, 0, 4);
  const other = OTHER_KINDS.find(([start]) => text(head, 0, start.length) === start);
  if (other !== undefined) {
    throw wrong(0, `this is ${other[1]}, not a WAV file. Convert it to WAV`);
  }
  if (id !== 'RIFF' && id !== 'RF64' && id !== 'BW64') {
    throw wrong(0, 'this is not a WAV file: it does not start with RIFF, RF64 or BW64');
  }
  if (head.length < 12)
    throw wrong(head.length, 'the file ends inside its header: it is cut short');
  if (text(head, 8, 12) !== 'WAVE') {
    throw wrong(8, `this is a RIFF file of another kind ("${text(head, 8, 12)}"), not WAVE`);
  }
  return id !== 'RIFF';
}

function readLongSize(body: Uint8Array, at: number): number {
  if (body.length < 28) throw wrong(at, 'the ds64 chunk is cut short');
  const long = view(body).getBigUint64(8, true);
  if (long > BigInt(Number.MAX_SAFE_INTEGER)) {
    throw wrong(at + 16, `the ds64 chunk says that there are ${long} bytes of samples`);
  }
  return Number(long);
}

function readFormat(body: Uint8Array, length: number, at: number): SampleFormat {
  if (length < 16) throw wrong(at, `the fmt chunk has ${length} bytes; at least 16 were expected`);
  if (body.length < 16) throw wrong(at, 'the file ends inside its fmt chunk: it is cut short');
  const fields = view(body);
  const isExtensible = fields.getUint16(0, true) === EXTENSIBLE;
  if (isExtensible && body.length < 40) {
    throw wrong(at, 'the fmt chunk is too short for the extensible format that it claims');
  }
  const tag = isExtensible ? fields.getUint16(24, true) : fields.getUint16(0, true);
  if (isExtensible && hex(body.subarray(26, 40)) !== GUID_REST) {
    throw wrong(at + 32, 'the samples are of a kind that only their maker knows');
  }
  if (tag !== PCM && tag !== FLOAT) {
    const name = OTHER_FORMATS[tag] ?? `format ${tag}`;
    throw wrong(
      at + 8,
      `the samples are ${name}; PCM and IEEE float can be read. Convert the file`,
    );
  }
  const channels = fields.getUint16(2, true);
  const sampleRate = fields.getUint32(4, true);
  const byteRate = fields.getUint32(8, true);
  const blockAlign = fields.getUint16(12, true);
  const container = fields.getUint16(14, true);
  const bits = isExtensible ? fields.getUint16(18, true) || container : container;
  if (channels < 1 || channels > MOST_CHANNELS) {
    throw wrong(
      at + 10,
      `the header says ${channels} channels; 1 to ${MOST_CHANNELS} were expected`,
    );
  }
  if (sampleRate < 1 || sampleRate > HIGHEST_RATE) {
    throw wrong(at + 12, `the header says ${sampleRate} Hz; 1 to ${HIGHEST_RATE} were expected`);
  }
  const encoding = tag === FLOAT ? 'float' : 'integer';
  const isKnown = encoding === 'float' ? container === 32 || container === 64 : container <= 32;
  if (!isKnown || container < 1 || bits > container) {
    const kind = encoding === 'float' ? 'float' : 'PCM';
    throw wrong(at + 22, `${kind} samples of ${bits} bits in ${container} cannot be read`);
  }
  const bytes = Math.ceil(container / 8);
  if (blockAlign !== channels * bytes) {
    throw wrong(
      at + 20,
      `the header says ${blockAlign} bytes a frame, but ${channels} channels of ${bytes} bytes make ${channels * bytes}`,
    );
  }
  // Some writers leave the byte rate at 0.
  if (byteRate !== 0 && byteRate !== (sampleRate * blockAlign) % 2 ** 32) {
    throw wrong(
      at + 16,
      `the header says ${byteRate} bytes a second, but ${sampleRate} Hz of ${blockAlign} bytes make ${sampleRate * blockAlign}: one of them is wrong`,
    );
  }
  const channelMask = isExtensible ? fields.getUint32(20, true) : null;
  return { sampleRate, channels, encoding, bits, bytes, blockAlign, channelMask };
}

function layout(
  format: SampleFormat | undefined,
  length: number,
  dataStart: number,
  size: number,
): WavLayout {
  const at = dataStart - 8;
  if (format === undefined) throw wrong(at, 'the data chunk comes before any fmt chunk');
  const present = size - dataStart;
  if (length > present) {
    throw wrong(
      at + 4,
      `the header says ${length} bytes of samples, but the file holds ${present}: it is cut short, or was never finished`,
    );
  }
  const { blockAlign, ...rest } = format;
  if (length % blockAlign !== 0) {
    throw wrong(
      at + 4,
      `the header says ${length} bytes of samples, which is no whole number of frames of ${blockAlign} bytes`,
    );
  }
  return { ...rest, frames: length / blockAlign, dataStart };
}

/** An empty recording is finished if chunks alone follow; otherwise what follows are its samples. */
function withoutSamples(readAt: ReadAt, dataStart: number, size: number): WavError {
  let at = dataStart;
  for (let count = 0; at + 8 <= size && count < MOST_CHUNKS; count++) {
    const head = readAt(at, 8);
    if (!/^[ -~]{4}$/.test(text(head, 0, 4))) break;
    const length = view(head).getUint32(4, true);
    at += 8 + length + (length % 2);
  }
  // The last chunk may lack the byte that makes its length even.
  const isFinished = at > size - 8 && at <= size + 1;
  return wrong(
    dataStart - 4,
    `the header says that there are no samples${isFinished ? ': the recording is empty' : `, though ${size - dataStart} bytes follow: it was never finished`}`,
  );
}

function wrong(at: number, what: string): WavError {
  return new WavError(`${at === 0 ? '' : `byte ${at}: `}${what}.`);
}

function view(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function text(bytes: Uint8Array, from: number, to: number): string {
  return Array.from(bytes.subarray(from, to), (byte) => String.fromCharCode(byte)).join('');
}

function hex(bytes: Uint8Array): string {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}
