/** The arithmetic of tempo: note values, steps, swing and clocks, for one tempo that stays. */

import { greatestCommonDivisor } from '../modules/dsp/extremes.ts';

const NOTE = /^(\d+)\/(\d+)([.T]?)$/;

/**
 * Gives the length of a quarter note: 60 / tempo.
 * @param tempo quarter notes a minute.
 * @returns s.
 * @throws RangeError unless the tempo is a positive finite number.
 */
export function secondsPerQuarter(tempo: number): number {
  return 60 / positive(tempo, 'tempo');
}

/**
 * Gives the length of a quarter note as a standard MIDI file writes it: 60 000 000 / tempo.
 * Source: Standard MIDI Files 1.0 (RP-001), Set Tempo (from memory).
 * @param tempo quarter notes a minute.
 * @returns microseconds, not rounded.
 * @throws RangeError unless the tempo is a positive finite number.
 */
export function microsecondsPerQuarter(tempo: number): number {
  return 60e6 / positive(tempo, 'tempo');
}

/**
 * Reads a note value: `1/8`, dotted `1/8.` (3/2 as long) or triplet `1/8T` (2/3 as long).
 * @returns its length in quarter notes: `1/8` is 0.5.
 * @throws RangeError for text that is no note value, and for a zero on either side of the stroke.
 */
export function quartersOfNote(note: string): number {
  const [, over, under, mark] = NOTE.exec(note) ?? [];
  const quarters = (4 * Number(over)) / Number(under);
  if (!(quarters > 0 && Number.isFinite(quarters))) {
    throw new RangeError(`expected a note value such as 1/8, 1/8. or 1/8T, got "${note}"`);
  }
  if (mark === '.') return (quarters * 3) / 2;
  return mark === 'T' ? (quarters * 2) / 3 : quarters;
}

/**
 * Gives the length of a straight step.
 * @param tempo quarter notes a minute.
 * @param stepsPerQuarter steps in a quarter note; 4 makes them sixteenths.
 * @returns s.
 * @throws RangeError unless both are positive finite numbers.
 */
export function stepSeconds(tempo: number, stepsPerQuarter: number): number {
  return secondsPerQuarter(tempo) / positive(stepsPerQuarter, 'steps per quarter');
}

/**
 * Gives how much later than straight an off-step comes: (2 swing - 1) x step.
 * @param swing share of the pair of steps at which the off-step comes: 0.5 straight, 2/3 triplet.
 * @param step length of a straight step, s.
 * @returns s; negative for a swing under 0.5.
 */
export function swingDelay(swing: number, step: number): number {
  return (2 * swing - 1) * step;
}

/**
 * Gives the time from one pulse of a clock to the next: 60 / (tempo x pulses per quarter).
 * @param tempo quarter notes a minute.
 * @param perQuarter pulses per quarter note.
 * @returns s.
 * @throws RangeError unless both are positive finite numbers.
 */
export function clockPeriod(tempo: number, perQuarter: number): number {
  return secondsPerQuarter(tempo) / positive(perQuarter, 'pulses per quarter');
}

function positive(x: number, what: string): number {
  if (x > 0 && Number.isFinite(x)) return x;
  throw new RangeError(`expected a positive number for ${what}, got ${x}`);
}

/** A note value in quarter notes as a fraction in lowest terms: a dotted eighth is 3/4. */
export interface NoteRatio {
  readonly over: number;
  readonly under: number;
}

/**
 * Gives a note value as a fraction of a quarter note.
 * @throws RangeError as {@link quartersOfNote} does, and for more than four digits a side.
 */
export function ratioOfNote(note: string): NoteRatio {
  quartersOfNote(note);
  const [, over = '', under = '', mark] = NOTE.exec(note) ?? [];
  if (over.length > 4 || under.length > 4)
    throw new RangeError(`expected a note value such as 1/8, 1/8. or 1/8T, got "${note}"`);
  const top = 4 * Number(over) * (mark === '.' ? 3 : mark === 'T' ? 2 : 1);
  const bottom = Number(under) * (mark === '.' ? 2 : mark === 'T' ? 3 : 1);
  const divisor = greatestCommonDivisor(top, bottom);
  return { over: top / divisor, under: bottom / divisor };
}

/** Note values from a whole note down, each under the one twice as long. */
const UNDERS = [1, 2, 4, 8, 16, 32, 64, 128, 256] as const;

/**
 * Names the note value that comes so many times a quarter note: 2 is `1/8`, 3 `1/8T`, 24 `1/64T`.
 * @param perQuarter a positive number.
 * @returns the name; for a rate that is no straight, dotted or triplet note its share of a whole
 *   note, such as `1/20`, or undefined where that is not one over a whole number.
 */
export function noteOfRate(perQuarter: number): string | undefined {
  for (const mark of ['', 'T', '.'])
    for (const under of UNDERS) {
      const { over, under: below } = ratioOfNote(`1/${under}${mark}`);
      if (Math.abs((perQuarter * over) / below - 1) < 1e-9) return `1/${under}${mark}`;
    }
  const share = 4 * perQuarter;
  return Number.isInteger(share) ? `1/${share}` : undefined;
}
