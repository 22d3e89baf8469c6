// What the result of a blind test is worth, against the binomial distribution.

import { describe, expect, it } from 'vitest';
import { chanceOfGuessing, verdictOf } from '../../../src/page/pieces/odds.ts';
import { close } from '../../close.ts';

describe('chanceOfGuessing', () => {
  // Upper tails of the binomial distribution with p = 1/2: sums of a row of Pascal's triangle.
  it.each([
    [8, 10, 56 / 1024], // 45 + 10 + 1
    [9, 10, 11 / 1024],
    [10, 10, 1 / 1024],
    [5, 5, 1 / 32],
    [12, 16, 2517 / 65_536], // 1820 + 560 + 120 + 16 + 1
    [0, 10, 1],
  ])('of %i right or more in %i', (right, trials, expected) => {
    expect(chanceOfGuessing(right, trials)).toBe(expected);
  });

  it('is symmetrical: k or more right is as likely as k or more wrong', () => {
    for (let trials = 1; trials <= 50; trials++)
      for (let right = 0; right <= trials + 1; right++)
        close(chanceOfGuessing(right, trials) + chanceOfGuessing(trials - right + 1, trials), 1, {
          abs: 1e-12,
          unit: '',
          why: 'fifty terms that are exact up to 2^53',
        });
  });
});

describe('verdictOf', () => {
  it('says what was right, what guessing would do, and no more than that shows', () => {
    expect(verdictOf(8, 10, chanceOfGuessing(8, 10))).toMatch(
      /^Right 8 of 10 times\. .*chance of 5\.5 %\. That is no proof that you told them apart/,
    );
    expect(verdictOf(9, 10, chanceOfGuessing(9, 10))).toMatch(
      /chance of 1\.1 %\. You told them apart\.$/,
    );
    expect(verdictOf(50, 50, chanceOfGuessing(50, 50))).toMatch(/chance of less than 0\.1 %/);
    expect(verdictOf(3, 10, chanceOfGuessing(3, 10))).toMatch(/no proof that they sound the same/);
  });
});
