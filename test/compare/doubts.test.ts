// Figures that a measure itself doubts: every place that shows one has the sign, and no figure without doubt has
// it. In narrow noise that is struck again after 15 dB the fall can hardly be distinguished from chance: in a band
// of 130 Hz there is one independent level in some 8 ms (the inverse of the width), each 5.6 dB about the fall.

import { afterEach, describe, expect, it, vi } from 'vitest';
import { comparisonAsData, printComparison } from '../../src/cli/reports/compare-report.ts';
import { shortfallData, shortfallWords } from '../../src/cli/reports/fit-shortfalls.ts';
import type { Compared, Comparison } from '../../src/compare/comparison.ts';
import { FIGURES } from '../../src/compare/figures.ts';
import { maps } from '../../src/compare/maps.ts';
import { summaryOf, type VariantMeasures } from '../../src/compare/measures.ts';
import type { Shortfall } from '../../src/fit/shortfall.ts';
import { SignalMeter } from '../../src/measure/signal.ts';
import { PRINT } from '../../src/output/chart/colours.ts';
import { bandNoise } from '../measure/synthesis.ts';

const RATE = 48_000;
const SIGN = / \?$/;
/** What is measured hit by hit, and so may be in doubt; the others are of the whole clip. */
const OF_HITS = ['attack', 'decay tau', 'T60'];

/** Hits that fall by 60 dB in 0.6 s: of narrow noise, struck again after 0.15 s, or of a tone, alone. */
function measured(kind: 'doubted' | 'sure'): VariantMeasures {
  const noise = bandNoise(1.5 * RATE, { hz: 400, q: 3 }, RATE, 'seed');
  const apart = kind === 'doubted' ? 0.15 : 1.4;
  const samples = new Float64Array(1.5 * RATE).map((_, n) => {
    const time = (n / RATE - 0.1) % apart;
    if (n < 0.1 * RATE) return 0;
    const wave = kind === 'sure' ? Math.sin(2 * Math.PI * 1000 * time) : (noise[n] as number) / 3;
    return 0.5 * wave * 10 ** ((-3 * time) / 0.6);
  });
  const meter = new SignalMeter(RATE, 1);
  meter.add({ channels: [samples], frames: samples.length });
  return summaryOf(meter.finish(), 0);
}

const DOUBTED = measured('doubted');
const SURE = measured('sure');

function compared(measures: VariantMeasures, name: string, settings = {}): Compared {
  return {
    variant: { heard: { type: 'recording', path: 'one.wav' }, name, settings },
    path: '',
    gainDb: 0,
    ownLufs: -20,
    measures,
  } as never;
}

function comparison(variants: readonly Compared[]): Comparison {
  return { variants, targetLufs: -20, ceilingDbtp: -1 } as never;
}

afterEach(() => vi.restoreAllMocks());

/** What a command says. */
function said(tell: () => void): string {
  let words = '';
  vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    words += String(text);
    return true;
  });
  tell();
  return words;
}

describe('a figure of a variant', () => {
  it('keeps the reliability that its hits have', () => {
    expect(DOUBTED.t60Seconds).not.toBeNull();
    expect(DOUBTED.reliability.t60).toBeLessThan(0.5);
    // Of a clean tone a fall is known to 2.5 % and better.
    expect(SURE.reliability.t60).toBeGreaterThan(0.9);
    expect(SURE.reliability.decay).toBeGreaterThan(0.9);
  });

  it('has the sign where it is of hits and in doubt, and nowhere else', () => {
    const all = (value: number): VariantMeasures => ({
      ...SURE,
      reliability: Object.fromEntries(
        Object.keys(SURE.reliability).map((name) => [name, value]),
      ) as VariantMeasures['reliability'],
    });
    for (const { name, of } of FIGURES) {
      expect(SIGN.test(of(all(0.49))), name).toBe(OF_HITS.includes(name));
      expect(SIGN.test(of(all(0.5))), name).toBe(false);
      // Nothing is measured of silence, and what is not measured is not in doubt.
      expect(
        of({ ...all(0), attackSeconds: null, decayTauSeconds: null, t60Seconds: null }),
        name,
      ).not.toMatch(OF_HITS.includes(name) ? SIGN : /^$/);
    }
  });
});

describe('doubt is told', () => {
  it('in the table of compare, with what the sign means', () => {
    const files = { page: 'a.html', chart: 'a.svg' };
    const tell = (measures: VariantMeasures) => () =>
      printComparison(comparison([compared(measures, 'one')]), files);
    const words = said(tell(DOUBTED));
    expect(words).toMatch(/^one .* ms \?/m);
    expect(words).toMatch(/^\?: in doubt/m);
    const sure = { ...SURE, reliability: { ...SURE.reliability, attack: 1 } };
    expect(said(tell(sure))).not.toContain('?');
  });

  it('in its JSON, for every figure of hits', () => {
    const { variants } = JSON.parse(
      JSON.stringify(
        comparisonAsData(comparison([compared(DOUBTED, 'one')]), { page: '', chart: '' }),
      ),
    );
    const { reliability, ...figures } = variants[0].measures;
    const named = Object.keys(figures)
      .filter((name) => name.endsWith('Seconds'))
      .map((name) => name.replace(/Seconds$/, '').replace('decayTau', 'decay'));
    expect(Object.keys(reliability).toSorted()).toEqual(named.toSorted());
    for (const value of Object.values(reliability)) {
      expect(value).toBeGreaterThanOrEqual(0);
      expect(value).toBeLessThanOrEqual(1);
    }
  });

  it('in a map, whose tones are those of what is sure', () => {
    const at = (x: number, y: number): Compared =>
      compared(
        // The doubted ones are ten times as long.
        x === y
          ? { ...DOUBTED, t60Seconds: 10 }
          : { ...SURE, centroidHz: 1000, t60Seconds: 0.1 * (x + 3 * y) },
        '',
        { x: String(x), y: String(y) },
      );
    const grid = [0, 1, 2].flatMap((x) => [0, 1, 2].map((y) => at(x, y)));
    const map = maps(comparison(grid), PRINT).find(({ body }) => body.includes('T60'));
    expect(map?.body).toMatch(/T60 of a hit, ms: 100 \(\w+\) to 700 \(\w+\); with a marked corner/);
    expect(map?.body.match(/>10000 \?</g)).toHaveLength(3);
    expect(map?.body.match(/<path [^>]*z"/g)).toHaveLength(3);
    // What is beyond them has the tone of the end.
    const tones = [...(map?.body ?? '').matchAll(/fill-opacity="([\d.]+)"/g)].map(([, tone]) =>
      Number(tone),
    );
    expect(tones.filter((tone) => tone === Math.max(...tones))).toHaveLength(4);
    expect(Math.max(...tones)).toBeLessThan(1);
  });

  it('in what a fit says of a partial, and of a fall', () => {
    const noise: Shortfall = {
      ...{ louder: 'recording', byDb: 20, lowHz: 900, highHz: 4500, nominal: [1000, 4000] },
      ...{ isLowest: false, isHighest: false, from: 0.02, to: 0.15, isToEnd: false, share: 0.3 },
      ...{ partial: null, fall: 0.2, fallReliability: 0.3 },
    };
    const tone = (reliability: number): Shortfall => ({
      ...noise,
      partial: { hz: 440, amplitude: 0.1, decay: 0.3, reliability },
    });
    const words = (one: Shortfall): string => shortfallWords([one], undefined, false).join('\n');
    const flat = (one: Shortfall): string => words(one).replace(/\s+/g, ' ');
    expect(flat(noise)).toContain('in 200 ms (in doubt)');
    expect(flat({ ...noise, fallReliability: 0.8 })).not.toContain('doubt');
    expect(flat(tone(0.1))).toContain('in 300 ms (in doubt)');
    expect(flat(tone(0.9))).not.toContain('doubt');
    expect(shortfallData([noise], undefined)).toMatchObject([{ fall: 0.2, fallReliability: 0.3 }]);
  });
});
