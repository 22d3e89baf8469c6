/** Which names count as near: up to three edits, and at most two fifths of the word. */

import { expect, test } from 'vitest';
import { nearest, shortList, someOf } from '../../../src/patch/text/nearest.ts';

const JACKS = ['trigger', 'control', 'switch-out', 'in', 'out', 'hat'];

test.each<[string, string | undefined]>([
  ['triger', 'trigger'], // 1 edit of 6 letters
  ['contorl', 'control'], // two neighbours swapped
  ['hta', 'hat'], // the same, in a word too short for two edits
  ['switchout', 'switch-out'],
  ['swtch_out', 'switch-out'], // 2 edits
  ['SWITCH-OUT', 'switch-out'], // case alone, however long
  ['cntrl', 'control'], // 2 edits of 5 letters: the very limit
  ['cntr', undefined], // 3 of 4
  ['ou', undefined], // 1 of 2
  ['swxxxx-out', undefined], // 4 edits
  ['', undefined],
  ['t'.repeat(500), undefined],
])('%s is near %s', (word, name) => {
  expect(nearest(word, JACKS)).toBe(name);
});

test('of several the nearest is taken, and of those the first', () => {
  expect(nearest('level', ['lever', 'levels', 'bevel'])).toBe('lever');
  expect(nearest('levels', ['lever', 'levels'])).toBe('levels');
});

test('a list is given while it is short', () => {
  expect(shortList([])).toBeUndefined();
  expect(shortList(['a'])).toBe('"a"');
  expect(shortList(['a', 'b'])).toBe('one of a, b');
  expect(shortList([...'abcdefgh'])).toBe('one of a, b, c, d, e, f, g, h');
  expect(shortList([...'abcdefghi'])).toBeUndefined();
});

const parts = ['kick', 'snare', 'hats', 'bell'].flatMap((part) =>
  ['gate', 'accent', 'hand', 'weight'].map((name) => `${part}.${name}`),
);

test('someOf names all of a few, and of many those with the same beginning or like letters', () => {
  expect(someOf('x', ['b', 'a'], 'there')).toBe('b, a');
  expect(someOf('kick.nothere', parts, '"list" lists all')).toMatch(
    /^kick\.\S+, kick\.\S+, kick\.\S+, kick\.\S+, \S+ and 11 more; "list" lists all$/,
  );
  expect(someOf('hats.acent', parts, 'there')).toMatch(/^hats\.accent, /);
});
