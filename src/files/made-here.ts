/**
 * How a file shows that Forehear made it and that nobody has worked on it since, so that a later run
 * may write over it unasked. A text ends with a comment, and a MIDI file begins with a text event, that
 * has the checksum of all the rest. Of WAV files `wav/wav-maker` tells.
 *
 * Source: Standard MIDI Files 1.0 (RP-001), text event 01 (from memory).
 */

import { readFileSync } from 'node:fs';
import { crc32 } from 'node:zlib';

export type Marking = 'comment' | 'midi';

/** Whether a file is as Forehear made it, changed since then, or another's. */
export type Maker = 'here' | 'changed' | 'other';

const WORDS = 'Made by Forehear';
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

function sumOf(bytes: Uint8Array): string {
  return crc32(bytes).toString(16).padStart(8, '0');
}
