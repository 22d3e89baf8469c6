/**
 * MIDI files whose time is frames of film (SMPTE): their ticks are parts of a second, and quarter notes follow
 * from a tempo.
 *
 * Source: Standard MIDI Files 1.0 (RP-001), the division of the header; 29 stands for the 30 frames of a
 * second of drop-frame time code, which run at 30000/1001 (from memory).
 */

import type { MidiContent, MidiTempo } from './midi-content.ts';

/** Frames a second, by what a header calls them. */
const FRAMES: { readonly [name: number]: number } = { 24: 24, 25: 25, 29: 30_000 / 1001, 30: 30 };
/** Parts of a quarter note: so many that the usual note values are whole. */
const PARTS = 48;
/** Ticks by which a rounded time may be off: half a tick, and some rounding error. */
const WITHIN = 0.55;
const USUAL_MICROS = 500_000;

/** Where a tempo begins. */
interface Start {
  /** Its tick in the file, and the exact place between ticks that is meant. */
  readonly tick: number;
  readonly exact: number;
  readonly quarters: number;
  readonly micros: number;
}

/** Ticks a second; 0 for an invalid division. @param division of the header, from 0x8000 on. */
export function filmTicksOf(division: number): number {
  return (FRAMES[0x100 - (division >> 8)] ?? 0) * (division & 0xff);
}

/**
 * Converts a file to ticks of a quarter note, about as fine.
 * @param bpm in place of the tempos of the file.
 */
export function inQuarters(content: MidiContent, perSecond: number, bpm?: number): MidiContent {
  const tempos: readonly MidiTempo[] =
    bpm === undefined ? content.tempos : [{ tick: 0, micros: Math.round(60e6 / bpm) }];
  const least = tempos.reduce((fastest, { micros }) => Math.min(fastest, micros), USUAL_MICROS);
  const ticksPerQuarter = PARTS * Math.max(1, Math.floor((perSecond * least) / 1e6 / PARTS));
  const starts: Start[] = [{ tick: 0, exact: 0, quarters: 0, micros: USUAL_MICROS }];
  const from = ({ quarters, exact, micros }: Start, tick: number): number =>
    quarters + ((tick - exact) * 1e6) / perSecond / micros;
  for (const { tick, micros } of tempos) {
    const last = starts.at(-1) as Start;
    const found = from(last, tick);
    // A tempo that is meant to begin with a step is at the tick nearest to that step.
    const near = Math.round(found * PARTS) / PARTS;
    const off = ((near - found) * last.micros * perSecond) / 1e6;
    const isMeant = Math.abs(off) <= WITHIN;
    starts.push({
      tick,
      exact: isMeant ? tick + off : tick,
      quarters: isMeant ? near : found,
      micros,
    });
  }
  /** Of things in the order of time. */
  const moved = (): ((tick: number) => number) => {
    let at = 0;
    return (tick) => {
      while ((starts[at + 1]?.tick ?? Number.POSITIVE_INFINITY) <= tick) at += 1;
      return Math.round(ticksPerQuarter * from(starts[at] as Start, tick));
    };
  };
  const all = <T extends { readonly tick: number }>(items: readonly T[]): T[] => {
    const to = moved();
    return items.map((item) => ({ ...item, tick: to(item.tick) }));
  };
  return {
    ...content,
    ticksPerQuarter,
    notes: all(content.notes),
    tempos: all(tempos),
    metres: all(content.metres),
    markers: content.markers.map(moved()),
    end: moved()(content.end),
    isFilm: true,
  };
}
