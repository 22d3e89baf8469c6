// Columns of text: whatever stands in them, none runs into the next, and no letter is lost.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { table } from '../../src/cli/table.ts';

const GAP = 2;

describe('table', () => {
  it('breaks a word that is wider than its column, after a mark where there is one', () => {
    const wide = ['drums.patterns.groove.kick x---', ...Array(9).fill('-22.7 LUFS')];
    const [first = '', ...more] = table([wide]).split('\n');
    expect(first).toMatch(/^[a-z.]+\. +-22\.7 +/);
    expect(more.join('')).toContain('kick');
  });

  it('keeps every column apart from the next, and every letter', () => {
    const word = fc.stringMatching(/^[a-z./,:_-]{1,60}$/);
    const cell = fc.array(word, { minLength: 1, maxLength: 3 }).map((words) => words.join(' '));
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, cell, cell), { minLength: 1, maxLength: 4 }), (rows) => {
        // Capital letters begin the second column, digits the third.
        const marked = rows.map(([a, b, c]) => [a, b.toUpperCase(), c.replace(/[^ ]/g, '7')]);
        const printed = table(marked);
        for (const line of printed.split('\n')) {
          const starts = [line.search(/[A-Z]/), line.search(/7/)].filter((at) => at > 0);
          for (const at of starts) expect(line.slice(at - GAP, at)).toMatch(/^[ ./,:_-]*$/);
        }
        const letters = (text: string): string => [...text.replace(/\s/g, '')].toSorted().join('');
        expect(letters(printed)).toBe(letters(marked.flat().join('')));
      }),
    );
  });
});
