/**
 * Reads a Standard MIDI File: its notes, tempos and time signatures, with the byte at which each
 * error is.
 *
 * Source: Standard MIDI Files 1.0 (RP-001) and MIDI 1.0: chunks, variable-length numbers, running
 * status, meta events (from memory).
 */

import { counted } from '../patch/text/counted.ts';
import type { MidiContent, MidiMetre, MidiNote, MidiTempo } from './midi-content.ts';
import { filmTicksOf, inQuarters } from './midi-film.ts';

/** A file that cannot be read; the message says at which byte, what and why: of another kind of file only what it is. */
export class MidiReadError extends Error {
  /** Counted from 0. */
  readonly byte: number;

  constructor(byte: number, message: string) {
    super(byte === 0 ? message : `byte ${byte}: ${message}`);
    this.byte = byte;
  }
}

/** The microseconds of a quarter note at a tempo of 1 bpm and of 999. */
const SLOWEST = 60_000_000;
const FASTEST = SLOWEST / 999;
/** Times up to here are exact to far less than a tick. */
const MOST_TICKS = 2 ** 40;
/** Bytes of a chunk's type and length. */
const HEAD = 8;
/** A bar of the finest note that a time signature may name here. */
const FINEST = 6;

/**
 * @param bpm quarter notes a minute, for a file whose time is frames of film; unless given, its own tempos.
 * @throws MidiReadError if it is not such a file, or is broken.
 */
export function readMidi(bytes: Uint8Array, bpm?: number): MidiContent {
  const file = new Bytes(bytes, 0, bytes.length);
  if (file.left < 4 || file.text(4) !== 'MThd')
    throw new MidiReadError(0, 'this is not a MIDI file: one begins with "MThd".');
  const length = file.number(4, 'the length of the header');
  if (length < 6)
    throw new MidiReadError(4, `a header of ${length} bytes, and it takes at least 6.`);
  const head = file.part(length, 4, 'the header');
  const format = head.number(2, 'the format');
  if (format > 1)
    throw new MidiReadError(
      8,
      `format ${format}, and only formats 0 and 1 are read. Save it as format 1.`,
    );
  const count = head.number(2, 'the number of tracks');
  if (count === 0) throw new MidiReadError(10, 'the file says that it has no tracks.');
  if (format === 0 && count > 1)
    throw new MidiReadError(10, `format 0 has one track, and the file says ${count}.`);
  const division = head.number(2, 'the division');
  const perSecond = division >= 0x8000 ? filmTicksOf(division) : undefined;
  if (perSecond === 0)
    throw new MidiReadError(
      12,
      `time in frames of film (SMPTE) of which ${0x100 - (division >> 8)} are a second, ${division & 0xff} ticks each; 24, 25, 29 and 30 of at least one tick are read.`,
    );
  if (division === 0) throw new MidiReadError(12, 'a quarter note of 0 ticks.');
  const found = new Content();
  let tracks = 0;
  while (file.left > 0 && tracks < count) {
    const start = file.at;
    if (file.left < 8) throw new MidiReadError(start, 'the file ends in the head of a chunk.');
    const type = file.text(4);
    const size = file.number(4, 'the length of a chunk');
    const chunk = file.part(size, start + 4, `the chunk "${printable(type)}"`);
    if (type === 'MTrk') readTrack(chunk, tracks++, found);
  }
  if (tracks < count)
    throw new MidiReadError(
      bytes.length,
      `the file ends after ${tracks} of the ${count} tracks that its header says.`,
    );
  readRest(file, count, found);
  const content = found.sorted(division);
  if (perSecond === undefined) return content;
  if (bpm === undefined && content.tempos.length === 0)
    throw new MidiReadError(
      12,
      'time is counted in frames of film (SMPTE), and no tempo says how long a quarter note is. Give one with --tempo.',
    );
  return inQuarters(content, perSecond, bpm);
}

/**
 * What comes after the last track. SMF 1.0 has readers pass over chunks of types that they do not know; anything else is
 * told, since it may be music.
 */
function readRest(file: Bytes, count: number, found: Content): void {
  let more = 0;
  let first = 0;
  while (file.left > 0) {
    const start = file.at;
    const length = chunkLength(file);
    if (length === undefined) {
      found.remarks.push(
        `byte ${start}: ${counted(file.left + file.at - start, 'byte')} after the last track are no chunk of a MIDI file, and were left out.`,
      );
      break;
    }
    if (file.text(4) === 'MTrk' && more++ === 0) first = start;
    file.part(4 + length, start, 'a chunk');
  }
  if (more > 0)
    found.remarks.push(
      `byte ${first}: ${counted(more, 'track')} more than the ${count} that the header says, left out.`,
    );
}

/** The length of the chunk that begins here; undefined if none does. Nothing is read. */
function chunkLength(file: Bytes): number | undefined {
  if (file.left < HEAD) return undefined;
  const head = file.ahead(HEAD);
  const type = head.text(4);
  const length = head.number(4, 'the length of a chunk');
  return printable(type) === type && length <= file.left - HEAD ? length : undefined;
}

class Content {
  readonly notes: MidiNote[] = [];
  readonly tempos: MidiTempo[] = [];
  readonly metres: MidiMetre[] = [];
  readonly markers: number[] = [];
  readonly names: string[] = [];
  readonly remarks: string[] = [];
  end = 0;

  sorted(ticksPerQuarter: number): MidiContent {
    const byTick = (a: { readonly tick: number }, b: { readonly tick: number }) => a.tick - b.tick;
    return {
      ticksPerQuarter,
      notes: this.notes.sort(byTick),
      tempos: this.tempos.sort(byTick),
      metres: this.metres.sort(byTick),
      markers: this.markers.sort((a, b) => a - b),
      names: this.names,
      end: this.end,
      isFilm: false,
      remarks: this.remarks,
    };
  }
}

function readTrack(track: Bytes, index: number, found: Content): void {
  found.names.push('');
  let tick = 0;
  let running = 0;
  while (track.left > 0) {
    const start = track.at;
    const wait = track.variable('a time');
    tick += wait;
    if (tick > MOST_TICKS)
      throw new MidiReadError(start, `this is ${tick} ticks after the start, too far to be meant.`);
    const at = track.at;
    let status = track.byte('an event');
    if (status === 0xff) {
      running = 0;
      if (!readMeta(track, { at, tick, wait, index }, found)) continue;
      if (track.left > 0)
        found.remarks.push(
          `byte ${track.at}: ${counted(track.left, 'byte')} after the end of track ${index + 1}, left out.`,
        );
      return;
    } else if (status === 0xf0 || status === 0xf7) {
      running = 0;
      const length = track.variable('the length of a system message');
      track.part(length, at, 'the system message');
    } else if (status > 0xf0) {
      throw new MidiReadError(
        at,
        `${hex(status)} is no event of a file: it belongs on a cable only.`,
      );
    } else {
      let first: number;
      if (status < 0x80) {
        if (running === 0)
          throw new MidiReadError(at, `${hex(status)} where an event begins, with none to repeat.`);
        first = status;
        status = running;
      } else {
        running = status;
        first = track.data();
      }
      const kind = status & 0xf0;
      const second = kind === 0xc0 || kind === 0xd0 ? 0 : track.data();
      if (kind === 0x90 && second > 0)
        found.notes.push({
          tick,
          channel: (status & 0x0f) + 1,
          note: first,
          velocity: second,
          track: index,
        });
    }
  }
  throw new MidiReadError(track.at, `track ${index + 1} stops without an end-of-track event.`);
}

interface MetaPlace {
  readonly at: number;
  readonly tick: number;
  /** Ticks since the event before. */
  readonly wait: number;
  readonly index: number;
}

/** @returns whether it ends the track. */
function readMeta(track: Bytes, { at, tick, wait, index }: MetaPlace, found: Content): boolean {
  const type = track.byte('the type of a meta event');
  const length = track.variable('the length of a meta event');
  const content = track.part(length, at, 'the meta event');
  const needs = (least: number, what: string): void => {
    if (length < least)
      throw new MidiReadError(at, `${what} has ${length} bytes here, and takes ${least}.`);
  };
  if (type === 0x2f) {
    // Most writers end a track with its last note, wherever in a bar that is: only a wait tells how long the music is.
    if (wait > 0) found.end = Math.max(found.end, tick);
    return true;
  }
  if (type === 0x03) found.names[index] ||= content.text(length);
  else if (type === 0x06) found.markers.push(tick);
  else if (type === 0x51) {
    needs(3, 'a tempo');
    const micros = content.number(3, 'a tempo');
    if (micros < FASTEST)
      throw new MidiReadError(
        at,
        `a tempo of ${micros} microseconds a quarter note, faster than 999 bpm.`,
      );
    found.tempos.push({ tick, micros });
  } else if (type === 0x58) {
    needs(4, 'a time signature');
    const over = content.byte('a time signature');
    const under = content.byte('a time signature');
    if (over === 0 || under > FINEST)
      throw new MidiReadError(
        at,
        `a time signature of ${over}/2^${under}: from 1/1 to 255/64 are read.`,
      );
    found.metres.push({ tick, quarters: (4 * over) / 2 ** under });
  }
  return false;
}

/** A stretch of the file, read from its start. */
class Bytes {
  at: number;
  private readonly bytes: Uint8Array;
  private readonly end: number;

  constructor(bytes: Uint8Array, from: number, end: number) {
    this.bytes = bytes;
    this.at = from;
    this.end = end;
  }

  get left(): number {
    return this.end - this.at;
  }

  /** The next bytes by themselves, still to be read here. */
  ahead(length: number): Bytes {
    return new Bytes(this.bytes, this.at, this.at + length);
  }

  byte(what: string): number {
    if (this.left < 1) throw new MidiReadError(this.at, `this ends within ${what}.`);
    return this.bytes[this.at++] as number;
  }

  data(): number {
    const at = this.at;
    const value = this.byte('an event');
    if (value > 0x7f)
      throw new MidiReadError(
        at,
        `${hex(value)} within an event, where a number up to 127 stands.`,
      );
    return value;
  }

  number(length: number, what: string): number {
    let value = 0;
    for (let n = 0; n < length; n++) value = value * 256 + this.byte(what);
    return value;
  }

  variable(what: string): number {
    const start = this.at;
    let value = 0;
    for (let n = 0; n < 4; n++) {
      const byte = this.byte(what);
      value = value * 128 + (byte & 0x7f);
      if (byte < 0x80) return value;
    }
    throw new MidiReadError(start, `${what} of more than four bytes.`);
  }

  text(length: number): string {
    let text = '';
    for (let n = 0; n < length; n++) text += String.fromCharCode(this.byte('a text'));
    return text;
  }

  /** @param at the byte that gives the length. */
  part(length: number, at: number, what: string): Bytes {
    if (length > this.left)
      throw new MidiReadError(
        at,
        `${what} is to be ${length} bytes long, and only ${this.left} follow.`,
      );
    this.at += length;
    return new Bytes(this.bytes, this.at - length, this.at);
  }
}

function hex(byte: number): string {
  return `0x${byte.toString(16).padStart(2, '0').toUpperCase()}`;
}

function printable(text: string): string {
  return text.replace(/[^ -~]/g, '?');
}
