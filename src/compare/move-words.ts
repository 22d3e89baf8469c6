/** The steps that turn one patch into another by hand, in words. */

import type { Move } from './moves.ts';

const WORDS: { readonly [type in Move['type']]: string } = {
  pull: 'pull',
  'take-out': 'take out',
  reuse: 'use',
  bring: 'bring',
  turn: 'turn',
  choose: 'choose',
  plug: 'plug',
  write: 'write',
};

/** A move in three parts: the action, its object, and the change. */
export function moveWords(move: Move): readonly [verb: string, what: string, detail: string] {
  return [WORDS[move.type], move.what, detailOf(move)];
}

function detailOf({ type, from, to, fromDial, toDial, isUnset }: Move): string {
  if (type === 'take-out' || type === 'bring') return from ?? to ?? '';
  if (type === 'reuse') return `was ${from}`;
  if (type === 'choose') return `${to}${from === undefined ? '' : `, not ${from}`}`;
  return changeOf(endOf(from, fromDial), endOf(to, isUnset ? 'unset' : toDial));
}

function endOf(value: string | undefined, more: string | undefined): string | undefined {
  return value === undefined || more === undefined ? value : `${value} (${more})`;
}

function changeOf(was: string | undefined, is: string | undefined): string {
  if (was === undefined) return is === undefined ? '' : `to ${is}`;
  return is === undefined ? `${was}, no more` : `from ${was} to ${is}`;
}
