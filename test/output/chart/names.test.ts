// Long names in charts: none is cut off, and none runs into what stands beside it.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PRINT } from '../../../src/output/chart/colours.ts';
import { broken, widthOf } from '../../../src/output/chart/letters.ts';
import { lineChart } from '../../../src/output/chart/lines.ts';
import { mapChart } from '../../../src/output/chart/map.ts';

const NAME =
  'parts/hats/closed-hat-two.yaml, hat.hiss.white -> hat.bright.in, "x-x- x-x- x-x- x-x-"';
const named = (count: number): string[] => Array.from({ length: count }, (_, n) => `${NAME} ${n}`);

/** The words of a drawing, in its order. */
function wordsOf(body: string): { words: string; y: number }[] {
  return [...body.matchAll(/<text x="[^"]*" y="([^"]*)"[^>]*>([^<]*)</g)].map(([, y, words]) => ({
    words: (words as string).replaceAll('&gt;', '>').replaceAll('&quot;', '"'),
    y: Number(y),
  }));
}

const lettersOf = (text: string): string => text.replace(/\s/g, '');

describe('a name that is too long for a line', () => {
  it('is broken into lines that are no wider, with every letter, after a mark where there is one', () => {
    expect(broken('drums.patterns.groove', widthOf('drums.patterns.gr', 12), 12)).toEqual([
      'drums.patterns.',
      'groove',
    ]);
    fc.assert(
      fc.property(fc.string(), fc.integer({ min: 20, max: 300 }), (words, width) => {
        const made = broken(words, width, 12);
        expect(lettersOf(made.join(''))).toBe(lettersOf(words));
        for (const line of made) expect(widthOf(line, 12) <= width || line.length === 1).toBe(true);
      }),
    );
  });

  it('keeps a number and its unit together, unless the line is narrower than both', () => {
    const width = widthOf('release 98.65', 12);
    for (const unit of ['ms', 'kHz', '%', 'dB', 'V', 'st', 'cents', 'bpm', 'kohm', 'μs'])
      expect(broken(`release 98.65 ${unit}`, width, 12)).toEqual(['release', `98.65 ${unit}`]);
    // A number before a word that is no unit may end a line.
    expect(broken('hits 98.65 more', width, 12)).toEqual(['hits 98.65', 'more']);
    expect(broken('98.65 ms', widthOf('98.65', 12), 12)).toEqual(['98.65', 'ms']);
  });

  it.each([1, 2, 7, 12])('stands whole in the title and the legend of %i lines', (count) => {
    const names = named(count);
    const { body, height } = lineChart(
      {
        title: names.join(', '),
        caption: NAME,
        x: { label: 'x', scale: 'linear', domain: [0, 1] },
        y: { label: 'y', scale: 'linear', domain: [0, 1] },
        width: 860,
        plotHeight: 230,
        colours: PRINT,
      },
      names.map((name) => ({ name, points: [[0, 0]] })),
    );
    const all = lettersOf(
      wordsOf(body)
        .map(({ words }) => words)
        .join(''),
    );
    for (const name of names) {
      // In the title, and in the legend if there are several.
      const times = all.split(lettersOf(name)).length - 1;
      expect(times, name).toBeGreaterThanOrEqual(count > 1 ? 2 : 1);
    }
    const top = Number(/translate\(\S+ (\d+)\)/.exec(body)?.[1]);
    for (const { y } of wordsOf(body)) expect(top + y).toBeLessThanOrEqual(height);
  });

  it('stands whole beside a map and under it, row apart from row', () => {
    const values = named(4);
    const { body, height } = mapChart({
      title: 'A map',
      x: { label: NAME, values },
      y: { label: NAME, values },
      fields: values.map(() => values.map(() => ({ value: 1, isDoubted: false }))),
      range: [0, 2],
      figure: String,
      width: 420,
      colours: PRINT,
    });
    const all = lettersOf(
      wordsOf(body)
        .map(({ words }) => words)
        .join(''),
    );
    for (const name of values) expect(all.split(lettersOf(name)).length - 1).toBe(2);
    expect(all).toContain(lettersOf(`${NAME} across, ${NAME} down`));
    const rows = [...body.matchAll(/<text x="-6" y="([^"]*)"/g)].map(([, y]) => Number(y));
    // Letters of 12 px: a line apart at least.
    rows.slice(1).forEach((y, index) => {
      expect(y - (rows[index] as number)).toBeGreaterThanOrEqual(12);
    });
    expect(height).toBeGreaterThan((rows.at(-1) as number) + 40);
  });
});
