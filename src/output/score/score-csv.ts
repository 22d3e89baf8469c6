/**
 * Happenings as comma-separated values (RFC 4180, lines ended by a line feed), in pieces of some size.
 * Times are to the nanosecond, some thousandth of a sample. Hours of edges are millions of lines, so
 * digits are written as bytes: texts of each number and line would cost several times as much.
 */

import type { Happening } from '../../engine/happening.ts';

/** Bytes gathered before they are handed on, and the longest that a line can be. */
const PIECE = 65_536;
const LONGEST_LINE = 4096;
const BILLION = 1_000_000_000;
const [COMMA, POINT, MINUS, ZERO, NEW_LINE] = [44, 46, 45, 48, 10] as const;

/**
 * Gives the bytes of the file, piece by piece.
 * @param wires whether the happenings are more than a rhythm's edges: two more columns then.
 */
export function* scoreCsv(happenings: Iterable<Happening>, wires: boolean): Generator<Uint8Array> {
  const lines = new Lines();
  lines.text(`time,sample,jack,edge,volts,bar,step${wires ? ',latency,position' : ''}\n`);
  for (const happening of happenings) {
    lines.add(happening, wires);
    if (lines.length >= PIECE) yield lines.take();
  }
  yield lines.take();
}

class Lines {
  length = 0;
  private readonly bytes = new Uint8Array(PIECE + LONGEST_LINE);
  private readonly encoder = new TextEncoder();
  /** `,jack,edge,volts,` by jack and edge; the volts of an edge hardly ever change. */
  private readonly middles = new Map<string, Map<string, { volts: number; bytes: Uint8Array }>>();

  add(happening: Happening, wires: boolean): void {
    const { time, sample, bar, step, latency, position } = happening;
    this.seconds(time);
    this.byte(COMMA);
    this.whole(sample);
    this.raw(this.middle(happening));
    if (bar !== undefined) this.whole(bar);
    this.byte(COMMA);
    if (step !== undefined) this.whole(step);
    if (wires) {
      this.byte(COMMA);
      if (latency !== undefined) this.seconds(latency);
      this.byte(COMMA);
      if (position !== undefined) this.whole(position);
    }
    this.byte(NEW_LINE);
  }

  text(words: string): void {
    this.raw(this.encoder.encode(words));
  }

  /** Gives what has been gathered, and starts again. */
  take(): Uint8Array {
    const taken = this.bytes.slice(0, this.length);
    this.length = 0;
    return taken;
  }

  /** Names of jacks hold no comma, and no quotation mark. */
  private middle({ jack, edge, volts }: Happening): Uint8Array {
    let edges = this.middles.get(jack);
    if (edges === undefined) {
      edges = new Map();
      this.middles.set(jack, edges);
    }
    let known = edges.get(edge);
    if (known?.volts !== volts) {
      known = { volts, bytes: this.encoder.encode(`,${jack},${edge},${volts},`) };
      edges.set(edge, known);
    }
    return known.bytes;
  }

  /** A time from 0 on with nine decimals, s. */
  private seconds(time: number): void {
    const whole = Math.floor(time);
    const rest = Math.round((time - whole) * BILLION);
    this.whole(rest === BILLION ? whole + 1 : whole);
    this.byte(POINT);
    this.digits(rest === BILLION ? 0 : rest, 9);
  }

  private whole(value: number): void {
    if (value < 0) this.byte(MINUS);
    const size = Math.abs(value);
    let count = 1;
    for (let bound = 10; size >= bound; bound *= 10) count += 1;
    this.digits(size, count);
  }

  private digits(value: number, count: number): void {
    let rest = value;
    for (let at = this.length + count - 1; at >= this.length; at--) {
      const tenth = Math.floor(rest / 10);
      this.bytes[at] = ZERO + rest - 10 * tenth;
      rest = tenth;
    }
    this.length += count;
  }

  private raw(more: Uint8Array): void {
    for (let i = 0; i < more.length; i++) this.bytes[this.length + i] = more[i] as number;
    this.length += more.length;
  }

  private byte(value: number): void {
    this.bytes[this.length] = value;
    this.length += 1;
  }
}
