// Maps of a grid: which grids have them, and that each field is where its two values cross.

import { describe, expect, it } from 'vitest';
import type { Compared, Comparison } from '../../src/compare/comparison.ts';
import { maps } from '../../src/compare/maps.ts';
import { PRINT } from '../../src/output/chart/colours.ts';
import { mapChart } from '../../src/output/chart/map.ts';

/** A variant whose centroid follows from its settings, 1 kHz for each of `x` and 10 kHz for each of `y`. */
function variant(settings: Record<string, string>, source?: string): Compared {
  const { x = '0', y = '0' } = settings;
  const measures = {
    centroidHz: 1000 * Number(x) + 10_000 * Number(y),
    t60Seconds: null,
    reliability: { t60: 0 },
  };
  return {
    variant: { settings, ...(source !== undefined && { source }) },
    measures,
    ownLufs: -20,
  } as unknown as Compared;
}

/** Every value of x with every one of y, y changing fastest; and of z, where it has any. */
function grid(xs: number, ys: number, zs = ['']): Comparison {
  const numbers = (count: number): string[] =>
    Array.from({ length: count }, (_, index) => String(index + 1));
  const variants = zs.flatMap((z) =>
    numbers(xs).flatMap((x) => numbers(ys).map((y) => variant({ ...(z !== '' && { z }), x, y }))),
  );
  return { variants } as unknown as Comparison;
}

/** Figures of a drawing's fields by place, each column and row in px. */
function fields(body: string): { x: number; y: number; figure: string }[] {
  const field = /<rect x="([\d.]+)" y="([\d.]+)"[^>]*fill-opacity="[\d.]+"\/><text[^>]*>([^<]*)</g;
  return [...body.matchAll(field)].map(([, x, y, figure]) => ({
    x: Number(x),
    y: Number(y),
    figure: figure as string,
  }));
}

describe('maps of a grid', () => {
  it('has one for each measure that differs, the faster setting across', () => {
    // Loudness is the same in all, and T60 was measured nowhere.
    const [centroid, ...others] = maps(grid(3, 4), PRINT);
    expect(others).toEqual([]);
    expect(centroid?.body).toContain('Centroid, kHz: 11.00 (paper) to 43.00 (ink)');
    const found = fields(centroid?.body as string);
    expect(found).toHaveLength(12);
    const xs = [...new Set(found.map(({ x }) => x))].toSorted((a, b) => a - b);
    const ys = [...new Set(found.map(({ y }) => y))].toSorted((a, b) => a - b);
    expect([xs.length, ys.length]).toEqual([4, 3]);
    for (const { x, y, figure } of found)
      expect(Number(figure)).toBe(10 * (xs.indexOf(x) + 1) + ys.indexOf(y) + 1);
  });

  it('has a map for each value of a third setting, in the same tones, four at most', () => {
    const [three] = maps(grid(3, 3, ['a', 'b', 'c']), PRINT);
    expect(fields(three?.body as string)).toHaveLength(27);
    const [five] = maps(grid(3, 3, ['a', 'b']), PRINT);
    expect(five?.body).toContain('>z a<');
    const [many] = maps(grid(6, 7, ['a', 'b', 'c', 'd', 'e']), PRINT);
    expect(many?.body).toContain('the first 4 of 5 maps');
    expect(many?.body).not.toContain('>z e<');
  });

  it('has none where two settings do not call for it', () => {
    expect(maps(grid(2, 9), PRINT)).toEqual([]);
    expect(maps({ variants: [variant({})] } as unknown as Comparison, PRINT)).toEqual([]);
    expect(maps({ variants: [] } as unknown as Comparison, PRINT)).toEqual([]);
  });

  it('leaves a recording and a stopped field out', () => {
    const { variants } = grid(3, 3);
    const real = variant({}, 'real');
    const [map] = maps({ variants: [...variants.slice(1), real] } as unknown as Comparison, PRINT);
    expect(fields(map?.body as string)).toHaveLength(8);
    // The ninth is crossed out.
    expect(map?.body.match(/<path /g)).toHaveLength(1);
  });
});

describe('a map', () => {
  it('keeps figures readable in every tone, and thins names and figures out where fields are small', () => {
    const of = (count: number): string =>
      mapChart({
        title: '',
        x: { label: 'x', values: Array.from({ length: count }, (_, n) => `${n} ms`) },
        y: { label: 'y', values: ['1', '2'] },
        fields: [0, 1].map((row) =>
          Array.from({ length: count }, (_, n) => ({ value: n + row, isDoubted: false })),
        ),
        range: [0, count],
        figure: (value) => value.toFixed(2),
        width: 860,
        colours: PRINT,
      }).body;
    const few = of(5);
    for (const [, tone, fill] of few.matchAll(
      /fill-opacity="([\d.]+)"\/><text[^>]*fill="([^"]*)"/g,
    ))
      expect(fill).toBe(Number(tone) > 0.5 ? PRINT.paper : PRINT.ink);
    expect(fields(few)).toHaveLength(10);
    const many = of(100);
    expect(fields(many)).toHaveLength(0);
    expect(many.match(/ ms</g)?.length).toBeLessThan(30);
  });
});
