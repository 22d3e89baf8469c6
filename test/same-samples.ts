/**
 * A quick check for lists of numbers that are the same to the bit: `toEqual` goes through the samples of a
 * sound by property names. Lists that differ are left to it, for its message.
 */

import { expect } from 'vitest';

function areSame(one: unknown, other: unknown): true | undefined {
  if (!isList(one) || !isList(other)) return undefined;
  if (one.constructor !== other.constructor || one.length !== other.length) return undefined;
  for (let i = 0; i < one.length; i++)
    if (typeof one[i] !== 'number' || !Object.is(one[i], other[i])) return undefined;
  return true;
}

const isList = (value: unknown): value is ArrayLike<unknown> =>
  Array.isArray(value) || (ArrayBuffer.isView(value) && !(value instanceof DataView));

// Once for all files that share what is loaded.
expect.addEqualityTesters([areSame]);
