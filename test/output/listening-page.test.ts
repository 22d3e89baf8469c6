// The page to listen on: its odds, its colours, and that nothing in a patch can break it.

import { runInNewContext } from 'node:vm';
import { describe, expect, it } from 'vitest';
import { DARK, PRINT } from '../../src/output/chart/colours.ts';
import { listeningPage, PAGE_COLOURS } from '../../src/output/listening-page.ts';
import { chanceOfGuessing, verdictOf } from '../../src/output/listening-page-odds.ts';
import { LISTENING_SCRIPT } from '../../src/output/listening-page-script.ts';
import { close } from '../close.ts';

const PAGE = listeningPage({
  notices: 'Copyright others',
  title: 'Hat </title><script>alert(1)</script> & "friends"',
  about: 'It <b>hisses</b>.',
  level: 'Every clip is at -20.0 LUFS.',
  columns: ['loudness', 'gain'],
  clips: [
    { name: 'a </script>', file: '01-a.wav', sampleRate: 48_000, cells: ['1', '2'], data: 'AAAA' },
    { name: "b <!-- 'x'", file: '02-b.wav', sampleRate: 48_000, cells: ['<3', '4'] },
  ],
  chart: '<svg></svg>',
  pairs: [['a', 'b', '-3.0 dB']],
});

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

describe('the script', () => {
  it('carries the odds in itself', () => {
    const functions = LISTENING_SCRIPT.split('\n\nconst clips')[0];
    const say = runInNewContext(`${functions}; verdictOf(8, 10, chanceOfGuessing(8, 10))`);
    expect(say).toBe(verdictOf(8, 10, chanceOfGuessing(8, 10)));
  });

  it('reaches for no element that the page has not', () => {
    const ids = [...LISTENING_SCRIPT.matchAll(/at\('([a-z-]+)'\)/g)].map(([, id]) => id);
    expect(ids.length).toBeGreaterThan(20);
    for (const id of ids) expect(PAGE).toContain(`id="${id}"`);
  });

  it('is a program', () => {
    expect(() => new Function(LISTENING_SCRIPT)).not.toThrow();
  });
});

describe('the page', () => {
  it('takes no text of a patch for markup', () => {
    expect(PAGE).toContain('<title>Hat &lt;/title&gt;');
    expect(PAGE).not.toContain('<b>hisses');
    // The data and the script, each ended once.
    expect(PAGE.match(/<\/script>/g)).toHaveLength(2);
    const data =
      /<script type="application\/json" id="clips">(.*?)<\/script>/.exec(PAGE)?.[1] ?? '';
    expect(JSON.parse(data)).toEqual([
      { name: 'a </script>', file: '01-a.wav', sampleRate: 48_000, data: 'AAAA' },
      { name: "b <!-- 'x'", file: '02-b.wav', sampleRate: 48_000 },
    ]);
  });

  it('needs nothing from elsewhere', () => {
    expect(PAGE).not.toMatch(/https?:\/\/(?!www\.w3\.org)/);
    expect(PAGE).not.toMatch(/<(?:link|img|iframe)|@import|url\(/);
  });

  it('gives every control a name', () => {
    for (const [control, attributes = '', name = ''] of PAGE.matchAll(
      /<button([^>]*)>([^<]*)<\/button>/g,
    ))
      expect(name.trim() !== '' || /aria-label="[^"]+"/.test(attributes), control).toBe(true);
    for (const [control, , id] of PAGE.matchAll(/<(input|select)[^>]*\bid="([^"]+)"/g))
      expect(
        PAGE.includes(`for="${id}"`) || new RegExp(`<label><input[^>]*id="${id}"`).test(PAGE),
        control,
      ).toBe(true);
  });

  it('hides in a blind test every part that names a clip', () => {
    // What is left when the parts marked so are taken away, the data and the script aside.
    const shown = PAGE.replace(/<script[\s\S]*?<\/script>/g, '')
      .replace(/<section data-named[\s\S]*?<\/section>/g, '')
      .replace(/<div class="sides" data-named>[\s\S]*?<\/div>\n<\/div>/g, '');
    expect(shown).not.toMatch(/a &lt;\/script|b &lt;!--/);
    expect(shown).toContain('id="blind-x"');
  });
});

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
