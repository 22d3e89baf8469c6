/** What `compare --moves` tells: what hands do to make one patch into another. */

import type { Move } from '../../compare/moves.ts';
import { counted } from '../../patch/text/counted.ts';
import { table } from '../table.ts';

const WORDS: { readonly [type in Move['type']]: string } = {
  pull: 'pull',
  'take-out': 'take out',
  reuse: 'use',
  bring: 'bring',
  turn: 'turn',
  plug: 'plug',
  write: 'write',
};

/** The moves in columns, with a sentence of how many there are. */
export function movesText(moves: readonly Move[], from: string, to: string): string {
  if (moves.length === 0) return `${from} and ${to} are patched and set alike: nothing to move.`;
  const count = (...types: readonly Move['type'][]): number =>
    moves.filter(({ type }) => types.includes(type)).length;
  const cables = `${counted(count('pull'), 'cable')} to pull, ${count('plug')} to plug`;
  const rest = `${counted(count('turn'), 'setting')} to turn`;
  const rows = moves.map(({ type, what, from: was, to: is }) => [
    WORDS[type],
    what,
    detailOf(type, was, is),
  ]);
  return `From ${from} to ${to}: ${cables}, ${rest}.\n\n${table(rows)}`;
}

function detailOf(type: Move['type'], was: string | undefined, is: string | undefined): string {
  if (type === 'take-out' || type === 'bring') return was ?? is ?? '';
  return type === 'reuse' ? `was ${was}` : changeOf(was, is);
}

function changeOf(was: string | undefined, is: string | undefined): string {
  if (was === undefined) return is === undefined ? '' : `to ${is}`;
  return is === undefined ? `${was}, no more` : `from ${was} to ${is}`;
}
