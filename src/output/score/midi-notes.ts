/**
 * Notes of channels in a MIDI file. A channel without a number of its own gets that of the first word
 * in its name that the percussion map knows; any other the next free number from 60 on.
 *
 * Source: General MIDI Level 1 percussion key map (RP-003; from memory).
 */

import type { Channel } from '../../modules/score.ts';

/** Longer words first where one is part of another's name. */
const WORDS: readonly (readonly [word: RegExp, note: number])[] = [
  [/kick|bass-?drum/i, 36],
  [/side|stick|rim/i, 37],
  [/clap/i, 39],
  [/snare/i, 38],
  [/open/i, 46],
  [/pedal/i, 44],
  [/hat|closed/i, 42],
  [/low-?tom|floor/i, 41],
  [/high-?tom/i, 50],
  [/tom/i, 45],
  [/crash|cymbal/i, 49],
  [/ride/i, 51],
  [/tambourine/i, 54],
  [/cowbell|bell/i, 56],
  [/bongo/i, 60],
  [/conga/i, 63],
  [/shaker|maraca/i, 70],
  [/clave/i, 75],
  [/block/i, 76],
  [/triangle/i, 81],
];
const FIRST_FREE = 60;
const HIGHEST = 127;

/** Gives the note number of each channel, 0 to 127. */
export function notesOf(channels: readonly Channel[]): readonly number[] {
  const known = channels.map(
    ({ name, note }) => note ?? WORDS.find(([word]) => word.test(name))?.[1],
  );
  const taken = new Set(known);
  let free = FIRST_FREE;
  return known.map((note) => {
    if (note !== undefined) return note;
    while (taken.has(free) && free < HIGHEST) free += 1;
    taken.add(free);
    return free;
  });
}
