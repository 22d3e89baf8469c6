/** The steps that turn one patch into another by hand, in words. */

import type { Move } from './moves.ts';

const WORDS: { readonly [type in Move['type']]: string } = {
  pull: 'pull',
  'take-out': 'take out',
  reuse: 'use',
  bring: 'bring',
  turn: 'turn',
  plug: 'plug',
  write: 'write',
};

/** A move in three parts: the action, its object, and the change. */
export function moveWords({
  type,
  what,
  from,
  to,
}: Move): readonly [verb: string, what: string, detail: string] {
  return [WORDS[type], what, detailOf(type, from, to)];
}

function detailOf(type: Move['type'], was: string | undefined, is: string | undefined): string {
  if (type === 'take-out' || type === 'bring') return was ?? is ?? '';
  return type === 'reuse' ? `was ${was}` : changeOf(was, is);
}

function changeOf(was: string | undefined, is: string | undefined): string {
  if (was === undefined) return is === undefined ? '' : `to ${is}`;
  return is === undefined ? `${was}, no more` : `from ${was} to ${is}`;
}
