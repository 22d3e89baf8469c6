/** Reads the WAV file that a setting names: where it lies, what is in it, and what is wrong with it. */

import type { Recorded } from '../../modules/definition.ts';
import { readLayout, WavError } from '../../wav/wav-header.ts';
import { unpackerOf } from '../../wav/wav-samples.ts';
import { type LoadRecording, unloaded } from '../load.ts';
import { resolvePath } from '../paths.ts';
import { type Entry, type TextNode, textOf } from '../text/nodes.ts';
import { quoted, type Report } from '../text/report.ts';
import { bytesOf } from './base64.ts';

/** Bytes that a recording may have: half a minute of one channel of 16 bits at 48 kHz. */
export const MOST_RECORDING_BYTES = 3 * 1024 * 1024;
/** What a text begins with that holds a WAV file: RFC 2397. */
export const WAV_TEXT = 'data:audio/wav;base64,';
/** What would have been right. */
export const RECORDING_RULE = "a WAV file in the patch's folder, such as sounds/knock.wav";
/** No sound: a value so large that its square is none. */
const LARGEST = 1e100;

/**
 * Reads the recording that a setting names.
 * @param from the file that the name stands in, and the patch's main file, in whose folder it must lie.
 * @returns undefined, and reported, if there is nothing to play.
 */
export function readRecording(
  entry: Entry,
  { from, main }: { readonly from: string; readonly main: string },
  load: LoadRecording,
  report: Report,
): Recorded | undefined {
  const node = textOf(entry, RECORDING_RULE, report);
  if (node === undefined) return undefined;
  if (node.text.startsWith(WAV_TEXT)) return played(node, recordedIn('', node.text), report);
  const path = resolvePath(from, node.text);
  const folder = main.slice(0, Math.max(main.lastIndexOf('/'), main.lastIndexOf('\\')) + 1);
  if (path === undefined) {
    report.add('recording', node.place, `${quoted(node.text)} is not a path of a recording`, {
      expected: `a path with "/" from the folder of this file, such as sounds/knock.wav`,
    });
    return undefined;
  }
  if (!path.startsWith(folder.replaceAll('\\', '/')) || path.startsWith('../', folder.length)) {
    report.add('recording', node.place, `${quoted(node.text)} is outside the patch's folder`, {
      expected: 'a file in the folder of the patch, or in one of its folders: copy it there',
    });
    return undefined;
  }
  const got = load(path);
  const isFound = typeof got === 'string' || got instanceof Uint8Array;
  return played(node, isFound ? recordedIn(path, got) : unloaded(path, got), report);
}

/** The sound, or undefined where words say what is wrong with it, which are reported. */
function played(
  { place }: TextNode,
  found: Recorded | string,
  report: Report,
): Recorded | undefined {
  if (typeof found !== 'string') return found;
  report.add('recording', place, found, { expected: RECORDING_RULE });
  return undefined;
}

/** What earlier readings decoded, by the text or the bytes of the file. */
const kept = new Map<string | Uint8Array, Recorded>();
const MOST_KEPT = 32;

/** What a file holds, or what is wrong with it. */
function recordedIn(path: string, file: string | Uint8Array): Recorded | string {
  const known = kept.get(file);
  if (known?.path === path) return known;
  const found = decoded(path, file);
  if (typeof found === 'string') return found;
  if (kept.size >= MOST_KEPT) kept.clear();
  kept.set(file, found);
  return found;
}

function decoded(path: string, file: string | Uint8Array): Recorded | string {
  const name = path === '' ? 'what is written here' : `the file ${quoted(path)}`;
  if (typeof file === 'string' && !file.startsWith(WAV_TEXT)) return `${name} is not a WAV file`;
  const bytes = typeof file === 'string' ? bytesOf(file.slice(WAV_TEXT.length)) : file;
  if (bytes.length > MOST_RECORDING_BYTES)
    return `${name} has ${(bytes.length / 1024 / 1024).toFixed(1)} MiB, and a recording may have 3 MiB: cut it to what is played`;
  try {
    const layout = readLayout((at, length) => bytes.subarray(at, at + length), bytes.length);
    const channels = Array.from({ length: layout.channels }, () => new Float64Array(layout.frames));
    const view = new DataView(bytes.buffer, bytes.byteOffset + layout.dataStart);
    unpackerOf(layout)(view, layout.frames, channels);
    for (const samples of channels) {
      const wrong = samples.findIndex((sample) => !(Math.abs(sample) <= LARGEST));
      if (wrong >= 0) return `${name} holds ${samples[wrong]} at frame ${wrong}, which is no sound`;
    }
    const digest = digestOf(bytes);
    return { path, sampleRate: layout.sampleRate, channels, toJSON: () => `${path} ${digest}` };
  } catch (error) {
    if (!(error instanceof WavError)) throw error;
    return `${name} cannot be played: ${error.message.replace(/\.$/, '')}`;
  }
}

/**
 * Two 32-bit sums by which files differ: FNV-1a with its usual start and with another. Source: Fowler,
 * Noll & Vo, the FNV non-cryptographic hash algorithm (from memory).
 */
function digestOf(bytes: Uint8Array): string {
  let a = 0x811c9dc5;
  let b = 0x1234567;
  for (const byte of bytes) {
    a = Math.imul(a ^ byte, 0x01000193);
    b = Math.imul(b ^ byte, 0x01000193);
  }
  return `${bytes.length} ${(a >>> 0).toString(16)} ${(b >>> 0).toString(16)}`;
}
