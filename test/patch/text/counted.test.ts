// Counts in words: one of a thing has no s.

import { describe, expect, it } from 'vitest';
import { counted, countedEach } from '../../../src/patch/text/counted.ts';

describe('counts', () => {
  it('have an s for all but one', () => {
    expect([0, 1, 2, 101].map((count) => counted(count, 'module'))).toEqual([
      '0 modules',
      '1 module',
      '2 modules',
      '101 modules',
    ]);
    expect(
      countedEach([
        [1, 'fault'],
        [0, 'caution'],
        [3, 'note'],
      ]),
    ).toEqual(['1 fault', '3 notes']);
  });
});
