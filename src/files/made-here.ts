/**
 * How a file shows that Forehear made it and that nobody has worked on it since, so that a later run
 * may write over it unasked. A text ends with a comment, and a MIDI file begins with a text event, that
 * has the checksum of all the rest. A WAV file names its software, and has its chunks in the order in
 * which they are made here: programs that edit sound write their own.
 *
 * Sources: Multimedia Programming Interface and Data Specifications 1.0 (IBM & Microsoft, 1991), ISFT of
 * the INFO list; Standard MIDI Files 1.0 (RP-001), text event 01 (both from memory).
 */

import { closeSync, fstatSync, openSync, readFileSync, readSync } from 'node:fs';
import { crc32 } from 'node:zlib';

export type Marking = 'comment' | 'midi' | 'wav';

/** Whether a file is as Forehear made it, changed since then, or another's. */
export type Maker = 'here' | 'changed' | 'other';

const WORDS = 'Made by Forehear';
/** What the INFO list of a WAV file names as its software. */
export const SOFTWARE = 'Forehear';
const COMMENT = new RegExp(`<!-- ${WORDS} ([0-9a-f]{8}) -->\n*$`);
const EVENT = new RegExp(`${WORDS} ([0-9a-f]{8})`);
/** Bytes of a MIDI file ahead of the first event: the head chunk, and the head of the first track. */
const MIDI_HEAD = 22;
/** A delta time of 0, the event, its length. */
const EVENT_HEAD = 4;
const EVENT_BYTES = EVENT_HEAD + WORDS.length + 9;
const TRACK_LENGTH = 18;

/** A text of a format that has comments as HTML has, with its mark. */
export function markedText(text: string): string {
  const body = text.endsWith('\n') ? text : `${text}\n`;
  return `${body}<!-- ${WORDS} ${sumOf(Buffer.from(body))} -->\n`;
}

/** A Standard MIDI File with its mark as the first event of its first track. */
export function markedMidi(file: Uint8Array): Uint8Array {
  const words = `${WORDS} ${sumOf(file)}`;
  const marked = new Uint8Array(file.length + EVENT_BYTES);
  marked.set(file.subarray(0, MIDI_HEAD));
  marked.set([0, 0xff, 0x01, words.length], MIDI_HEAD);
  marked.set(Buffer.from(words, 'latin1'), MIDI_HEAD + EVENT_HEAD);
  marked.set(file.subarray(MIDI_HEAD), MIDI_HEAD + EVENT_BYTES);
  lengthen(marked, EVENT_BYTES);
  return marked;
}

/**
 * Tells who made a file that is there.
 * @throws the system's error if it cannot be read.
 */
export function makerOf(path: string, marking: Marking): Maker {
  if (marking === 'wav') return makerOfWav(path);
  const bytes = readFileSync(path);
  return marking === 'midi' ? makerOfMidi(bytes) : makerOfText(bytes);
}

function makerOfText(bytes: Buffer): Maker {
  // The mark is in ASCII, so it is found without decoding all of a large page.
  const end = bytes.subarray(-4096).toString('latin1');
  const found = COMMENT.exec(end);
  if (found === null) return bytes.includes(`<!-- ${WORDS} `) ? 'changed' : 'other';
  const body = bytes.subarray(0, bytes.length - (end.length - found.index));
  return sumOf(body) === found[1] ? 'here' : 'changed';
}

function makerOfMidi(bytes: Buffer): Maker {
  const start = bytes.subarray(0, 4096).toString('latin1');
  const found = EVENT.exec(start);
  if (found === null) return 'other';
  if (found.index !== MIDI_HEAD + EVENT_HEAD) return 'changed';
  const rest = Buffer.concat([
    bytes.subarray(0, MIDI_HEAD),
    bytes.subarray(MIDI_HEAD + EVENT_BYTES),
  ]);
  lengthen(rest, -EVENT_BYTES);
  return sumOf(rest) === found[1] ? 'here' : 'changed';
}

function lengthen(file: Uint8Array, by: number): void {
  const view = new DataView(file.buffer, file.byteOffset);
  view.setUint32(TRACK_LENGTH, view.getUint32(TRACK_LENGTH) + by);
}

/** Its samples are not read: it may be hours long. */
function makerOfWav(path: string): Maker {
  const handle = openSync(path, 'r');
  try {
    const head = Buffer.alloc(64);
    const tail = Buffer.alloc(64);
    readSync(handle, head, 0, head.length, 0);
    readSync(handle, tail, 0, tail.length, Math.max(0, fstatSync(handle).size - tail.length));
    const software = tail.lastIndexOf('ISFT');
    if (
      software < 0 ||
      !tail
        .subarray(software + 8)
        .toString('latin1')
        .startsWith(SOFTWARE)
    )
      return 'other';
    const first = head.toString('latin1', 12, 16);
    return first === 'fmt ' || head.toString('latin1', 48, 52) === 'fmt ' ? 'here' : 'changed';
  } finally {
    closeSync(handle);
  }
}

function sumOf(bytes: Uint8Array): string {
  return crc32(bytes).toString(16).padStart(8, '0');
}
