/**
 * Reads WAV files for tests, independent of the code that writes them.
 *
 * Written from Multimedia Programming Interface and Data Specifications 1.0 (IBM & Microsoft, 1991),
 * "Resource Interchange File Format" and "Waveform Audio File Format", and for RF64 from EBU Tech
 * 3306. Strict: any size that does not add up is an error.
 */

export interface Chunk {
  readonly id: string;
  /** Bytes of the contents, without the pad byte. */
  readonly size: number;
  readonly body: Uint8Array;
}

export interface Riff {
  readonly id: 'RIFF' | 'RF64';
  readonly chunks: readonly Chunk[];
}

export function readRiff(file: Uint8Array): Riff {
  const view = viewOf(file);
  const id = text(file, 0, 4);
  if (id !== 'RIFF' && id !== 'RF64') throw new Error(`starts with ${id}`);
  if (text(file, 8, 12) !== 'WAVE') throw new Error('is no WAVE file');
  let riffSize = view.getUint32(4, true);
  let dataSize: number | undefined;
  if (id === 'RF64') {
    if (riffSize !== 0xffffffff) throw new Error('RF64 has a 32-bit RIFF size');
    if (text(file, 12, 16) !== 'ds64') throw new Error('ds64 is not the first chunk of RF64');
    riffSize = Number(view.getBigUint64(20, true));
    dataSize = Number(view.getBigUint64(28, true));
  }
  if (riffSize !== file.length - 8) {
    throw new Error(`RIFF size ${riffSize} in a file of ${file.length}`);
  }
  return { id, chunks: readChunks(file.subarray(12), dataSize) };
}

/** The chunks of a RIFF or LIST body, which must fill it exactly. */
export function readChunks(bytes: Uint8Array, dataSize?: number): Chunk[] {
  const view = viewOf(bytes);
  const chunks: Chunk[] = [];
  let at = 0;
  while (at < bytes.length) {
    const id = text(bytes, at, at + 4);
    let size = view.getUint32(at + 4, true);
    if (id === 'data' && dataSize !== undefined) {
      if (size !== 0xffffffff) throw new Error('the data chunk of RF64 has a 32-bit size');
      size = dataSize;
    }
    const end = at + 8 + size;
    if (end > bytes.length) throw new Error(`chunk ${id} runs past the end`);
    chunks.push({ id, size, body: bytes.subarray(at + 8, end) });
    if (size % 2 === 1 && bytes[end] !== 0) throw new Error(`chunk ${id} has no pad byte`);
    at = end + (size % 2);
  }
  return chunks;
}

export function chunkOf(riff: Riff, id: string): Chunk {
  const found = riff.chunks.filter((chunk) => chunk.id === id);
  if (found.length !== 1) throw new Error(`${found.length} chunks ${id}`);
  return found[0] as Chunk;
}

/** The frame that each cue point marks, with its id. */
export function cuePoints(riff: Riff): { id: number; sample: number }[] {
  const { body } = chunkOf(riff, 'cue ');
  const view = viewOf(body);
  const count = view.getUint32(0, true);
  if (body.length !== 4 + 24 * count) throw new Error('the cue chunk has another length');
  return Array.from({ length: count }, (_, i) => {
    const at = 4 + 24 * i;
    if (text(body, at + 8, at + 12) !== 'data') throw new Error('a cue point outside data');
    if (view.getUint32(at + 4, true) !== view.getUint32(at + 20, true)) {
      throw new Error('a cue point with two positions');
    }
    return { id: view.getUint32(at, true), sample: view.getUint32(at + 20, true) };
  });
}

/** The texts in the LIST of type `kind`, by the id of their chunk (INFO) or of their cue (adtl). */
export function listTexts(riff: Riff, kind: 'INFO' | 'adtl'): Map<string | number, string> {
  const list = riff.chunks.filter(({ id, body }) => id === 'LIST' && text(body, 0, 4) === kind);
  if (list.length !== 1) throw new Error(`${list.length} lists ${kind}`);
  const entries = readChunks((list[0] as Chunk).body.subarray(4)).map(({ id, body }) => {
    const isLabel = kind === 'adtl';
    if (isLabel && id !== 'labl') throw new Error(`${id} in adtl`);
    if (body.at(-1) !== 0) throw new Error('a text without its closing zero');
    const value = new TextDecoder('utf-8', { fatal: true }).decode(
      body.subarray(isLabel ? 4 : 0, -1),
    );
    return [isLabel ? viewOf(body).getUint32(0, true) : id, value] as const;
  });
  return new Map(entries);
}

/** The integer codes of interleaved samples of 16 or 24 bits. */
export function codesOf(data: Uint8Array, bits: 16 | 24): number[] {
  const view = viewOf(data);
  const bytes = bits / 8;
  const codes = new Array<number>(data.length / bytes);
  for (let i = 0; i < codes.length; i++) {
    codes[i] =
      bits === 16
        ? view.getInt16(2 * i, true)
        : view.getInt8(3 * i + 2) * 65536 + view.getUint16(3 * i, true);
  }
  return codes;
}

export function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function text(bytes: Uint8Array, from: number, to: number): string {
  return String.fromCharCode(...bytes.subarray(from, to));
}
