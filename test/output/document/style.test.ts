// The colours of every page, against what the Web Content Accessibility Guidelines ask of contrast.

import { describe, expect, it } from 'vitest';
import { DARK, PRINT } from '../../../src/output/chart/colours.ts';
import { PAGE_COLOURS } from '../../../src/output/document/style.ts';

describe('the colours', () => {
  /** Relative luminance. Source: W3C, WCAG 2.2, definition of relative luminance. */
  function luminance(colour: string): number {
    const [r, g, b] = [1, 3, 5].map((at) => {
      const value = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
      return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
    }) as [number, number, number];
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  }
  function contrast(a: string, b: string): number {
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y) as [number, number];
    return (high + 0.05) / (low + 0.05);
  }

  it.each(Object.entries(PAGE_COLOURS))('of the %s page pass WCAG 2.2 AA', (_, colours) => {
    // 1.4.3: text 4.5 to 1. 1.4.11: edges of controls 3 to 1.
    for (const text of [colours.ink, colours.quiet, colours.mark])
      expect(contrast(text, colours.paper)).toBeGreaterThanOrEqual(4.5);
    expect(contrast(colours.edge, colours.paper)).toBeGreaterThanOrEqual(3);
  });

  it.each([
    ['print', PRINT],
    ['dark', DARK],
  ])('of the first four lines stand out in %s as 1.4.11 asks', (_, { series, paper }) => {
    for (const line of series.slice(0, 4)) expect(contrast(line, paper)).toBeGreaterThanOrEqual(3);
  });
});
