/** Steps as drum tab, one sign each, and how they are edited. */

import type { Said } from '../../protocol.ts';

/** What each sign means. */
export const SIGNS: Readonly<Record<string, string>> = {
  '-': 'rest',
  x: 'hit',
  X: 'accent',
  g: 'ghost stroke',
  f: 'flam',
  '?': 'hit left to chance',
  '2': '2 strokes',
  '3': '3 strokes',
  '4': '4 strokes',
  '5': '5 strokes',
  '6': '6 strokes',
  '7': '7 strokes',
  '8': '8 strokes',
};

/** A click goes through these in turn. */
const ROUND = ['-', 'x', 'X'];

export function nextSign(sign: string): string {
  return ROUND[(ROUND.indexOf(sign) + 1) % ROUND.length] as string;
}

/** The sign that a key stands for; undefined for other keys. */
export function signOfKey(key: string): string | undefined {
  if (key === 'Delete' || key === 'Backspace' || key === '.') return '-';
  if (key === 'F' || key === 'G') return key.toLowerCase();
  return Object.hasOwn(SIGNS, key) ? key : undefined;
}

export function withSign(steps: string, at: number, sign: string): string {
  return steps.slice(0, at) + sign + steps.slice(at + 1);
}

/** As it is usually written: a space after each beat, a bar line after every four. */
export function grouped(steps: string, stepsPerQuarter: number): string {
  const beats = Array.from({ length: Math.ceil(steps.length / stepsPerQuarter) }, (_, beat) =>
    steps.slice(beat * stepsPerQuarter, (beat + 1) * stepsPerQuarter),
  );
  return beats.map((beat, index) => (index > 0 && index % 4 === 0 ? `| ${beat}` : beat)).join(' ');
}

/** As `beat 2, step 3`. @param step from 0. */
export function placeOfStep(step: number, stepsPerQuarter: number): string {
  return `beat ${Math.floor(step / stepsPerQuarter) + 1}, step ${(step % stepsPerQuarter) + 1}`;
}

/** The attributes of a step, after its sign: `, flam 12 ms`. */
export function saidWords(said: Said | undefined): string {
  return Object.entries(said ?? {})
    .map(([word, text]) => `, ${word} ${text}`)
    .join('');
}
