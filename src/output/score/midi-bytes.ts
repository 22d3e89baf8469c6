/**
 * The bytes of a Standard MIDI File: tracks, chunks and numbers.
 *
 * Source: Standard MIDI Files 1.0 (RP-001): chunks, variable-length numbers, meta events (from memory).
 */

import { inOneLine } from '../../text/printable.ts';

/** A patch that a MIDI file cannot hold; the message says why and what to do. */
export class MidiError extends Error {}

/** Of the whole file: some ten million strokes. */
const MOST_BYTES = 128 * 1024 * 1024;

/** A track as it is written: its bytes, and nothing kept of what is in them. */
export class Track {
  private bytes = new Uint8Array(1024);
  private length = 0;
  private now = 0;

  /** @param tick not before that of the event added last. */
  add(tick: number, event: readonly number[]): void {
    this.push(variable(tick - this.now));
    this.push(event);
    this.now = tick;
  }

  /** Ends the track. @returns its bytes. */
  end(tick: number): Uint8Array {
    this.push(variable(Math.max(0, tick - this.now)));
    this.push(meta(0x2f, []));
    return this.bytes.subarray(0, this.length);
  }

  private push(more: readonly number[]): void {
    if (this.length + more.length > MOST_BYTES)
      throw new MidiError(
        `that is more than the ${MOST_BYTES / 2 ** 20} MB that a MIDI file here takes at most. Ask for fewer --bars or --seconds.`,
      );
    if (this.length + more.length > this.bytes.length) {
      const bytes = new Uint8Array(2 * (this.length + more.length));
      bytes.set(this.bytes);
      this.bytes = bytes;
    }
    for (const byte of more) this.bytes[this.length++] = byte;
  }
}

export function chunk(type: string, content: Uint8Array): readonly Uint8Array[] {
  return [Uint8Array.from([...new TextEncoder().encode(type), ...long(content.length)]), content];
}

export function meta(type: number, content: readonly number[]): number[] {
  return [0xff, type, ...variable(content.length), ...content];
}

export function textBytes(words: string): number[] {
  return [...new TextEncoder().encode(inOneLine(words))];
}

export function word(value: number): number[] {
  return [(value >> 8) & 0xff, value & 0xff];
}

export function long(value: number): number[] {
  return [(value >>> 24) & 0xff, (value >> 16) & 0xff, ...word(value)];
}

/** Seven bits a byte, the highest first, all but the last with the top bit set. */
function variable(value: number): number[] {
  const bytes = [value & 0x7f];
  for (let rest = Math.floor(value / 128); rest > 0; rest = Math.floor(rest / 128))
    bytes.unshift((rest & 0x7f) | 0x80);
  return bytes;
}
