// Charts: where things are drawn, against the closed form of their scales and of known sounds.

import { decode } from 'fast-png';
import { describe, expect, it } from 'vitest';
import { element, gridded, label, svgPicture } from '../../src/output/chart/chart-svg.ts';
import { coloured, IN_PAGE, PRINT, seriesStyle } from '../../src/output/chart/colours.ts';
import { lineChart } from '../../src/output/chart/lines.ts';
import {
  greyRange,
  pngUrl,
  spectrogram,
  spectrogramChart,
} from '../../src/output/chart/spectrogram.ts';
import { waveformChart } from '../../src/output/chart/waveform.ts';
import { close } from '../close.ts';

const FRAME = {
  title: 'Level',
  x: { label: 'frequency, Hz', scale: 'log', domain: [100, 10_000] },
  y: { label: 'level, dB', scale: 'linear', domain: [-60, 0] },
  width: 462,
  plotHeight: 120,
  colours: PRINT,
} as const;

describe('element', () => {
  it('escapes text and attributes, and leaves undefined ones out', () => {
    expect(element('g', { id: 'a"<', x: 1 / 3, y: undefined }, label('<&>', 1, 2))).toBe(
      '<g id="a&quot;&lt;" x="0.33"><text x="1" y="2">&lt;&amp;&gt;</text></g>',
    );
  });
});

describe('lineChart', () => {
  it('puts values where their scales say', () => {
    const { body } = lineChart(FRAME, [
      {
        name: 'one',
        points: [
          [100, 0],
          [1000, -30],
          [10_000, -60],
        ],
      },
    ]);
    // The plot is 462 - 52 - 10 = 400 px wide: a decade of two is half of it, -30 dB of 60 half its height.
    expect(body).toContain('d="M0,0L200,60L400,120"');
    expect(body).toContain('>frequency, Hz<');
    expect(body).toContain('>level, dB<');
    for (const tick of ['100', '1k', '10k', '\u221260', '0']) expect(body).toContain(`>${tick}<`);
  });

  it('leaves a gap where there is no value', () => {
    const { body } = lineChart(FRAME, [
      {
        name: 'one',
        points: [
          [100, 0],
          [200, 0],
          [500, null],
          [1000, -60],
          [10_000, -60],
        ],
      },
    ]);
    expect(body).toMatch(/d="M0,0L60\.2,0M200,120L400,120"/);
  });

  it('names lines in the order in which they are given, and counts the nameless', () => {
    const points = [[100, 0]] as const;
    const { body } = lineChart(FRAME, [{ name: 'b', points }, { points }, { name: 'a', points }]);
    expect(body).toMatch(/>b<.*>a<.*>1 others</s);
  });
});

describe('coloured', () => {
  it('makes of a picture for a page the same that is drawn for print', () => {
    const points = [[100, 0]] as const;
    const drawn = (colours: typeof PRINT): string =>
      svgPicture(
        lineChart({ ...FRAME, colours }, [{ name: 'a', points }, { points }]),
        'x',
        colours,
      );
    expect(drawn(IN_PAGE)).toContain('var(--series-1)');
    expect(coloured(drawn(IN_PAGE), PRINT)).toBe(drawn(PRINT));
  });
});

describe('seriesStyle', () => {
  it('gives 28 lines styles that differ, neighbours in colour and in dash', () => {
    const styles = Array.from({ length: 28 }, (_, index) => seriesStyle(index, PRINT));
    expect(new Set(styles.map((style) => JSON.stringify(style))).size).toBe(28);
    for (let i = 1; i < styles.length; i++) {
      expect(styles[i]?.stroke).not.toBe(styles[i - 1]?.stroke);
      expect(styles[i]?.dash).not.toBe(styles[i - 1]?.dash);
    }
  });
});

describe('waveformChart', () => {
  it('spans each column from its lowest to its highest sample', () => {
    const samples = new Float64Array(4000).map((_, n) => (n % 10 === 0 ? 1 : -0.5));
    const { body } = waveformChart(
      {
        ...FRAME,
        x: { label: 'time, s', scale: 'linear', domain: [0, 4] },
        y: { label: 'volts', scale: 'linear', domain: [-1, 1] },
      },
      samples,
      1000,
    );
    // +1 lies at the top, 0 px, and -0.5 at three quarters, 90 px; both a hair's breadth outside.
    expect(body).toMatch(/d="M0,-0\.4L1,-0\.4/);
    expect(body).toMatch(/L1,90\.4L0,90\.4Z"/);
  });
});

describe('spectrogram', () => {
  const RATE = 48_000;
  const rows = 80;

  function sine(hz: number, amplitude: number, from: number): Float64Array {
    return new Float64Array(RATE).map((_, n) =>
      n < from ? 0 : amplitude * Math.sin((2 * Math.PI * hz * n) / RATE),
    );
  }

  it('shows a sine at its frequency, time and level', () => {
    // 3 kHz is bin 64 of 1024 at 48 kHz, so all of its level is in that bin.
    const shown = spectrogram(sine(3000, 0.1, RATE / 2), RATE, { columns: 10, rows });
    const column = (at: number) =>
      Array.from({ length: rows }, (_, row) => shown.levels[row * 10 + at] as number);
    expect(Math.max(...column(2))).toBe(0);
    const levels = column(8);
    const loudest = levels.indexOf(Math.max(...levels));
    const top = shown.highHz * (shown.lowHz / shown.highHz) ** (loudest / rows);
    const bottom = shown.highHz * (shown.lowHz / shown.highHz) ** ((loudest + 1) / rows);
    expect(bottom).toBeLessThanOrEqual(3000 * 1.01);
    expect(top).toBeGreaterThanOrEqual(3000 * 0.99);
    close(-120 * (1 - Math.max(...levels) / 255), -20, {
      abs: 0.3,
      unit: 'dB',
      why: 'a level is kept in steps of 120/255 = 0.47 dB',
    });
  });

  it('has black for the loudest of those shown together, on a grid of 6 dB', () => {
    const loud = spectrogram(sine(3000, 0.1, 0), RATE, { columns: 4, rows });
    const soft = spectrogram(sine(3000, 0.01, 0), RATE, { columns: 4, rows });
    expect(greyRange([soft, loud])).toEqual({ blackDb: -18, whiteDb: -84 });
  });

  it('is drawn with white for what is not heard', () => {
    const silent = spectrogram(new Float64Array(RATE), RATE, { columns: 4, rows: 2 });
    const { body } = spectrogramChart(FRAME, silent, { blackDb: 0, whiteDb: -66 });
    const png = /base64,([^"]+)"/.exec(body)?.[1] ?? '';
    const { data, width, height } = decode(Buffer.from(png, 'base64'));
    expect([width, height]).toEqual([4, 2]);
    expect([...data]).toEqual(Array(8).fill(255));
  });
});

describe('pngUrl', () => {
  it('keeps every pixel', () => {
    const grey = new Uint8Array(6).map((_, i) => 50 * i);
    const { data, width, height, channels, depth } = decode(
      Buffer.from(pngUrl(grey, 3, 2).split(',')[1] as string, 'base64'),
    );
    expect({ data: [...data], width, height, channels, depth }).toEqual({
      data: [0, 50, 100, 150, 200, 250],
      width: 3,
      height: 2,
      channels: 1,
      depth: 8,
    });
  });
});

describe('gridded and svgPicture', () => {
  it('put drawings in rows, and make one picture with a name', () => {
    const one = { width: 10, height: 5, body: '<a/>' };
    const all = gridded([one, one, one], 2, 4);
    expect(all).toMatchObject({ width: 24, height: 14 });
    expect([...all.body.matchAll(/translate\(([^)]+)\)/g)].map(([, at]) => at)).toEqual([
      '0 0',
      '14 0',
      '0 9',
    ]);
    expect(svgPicture(all, 'Three & more', PRINT)).toMatch(
      /^<svg xmlns="http:\/\/www\.w3\.org\/2000\/svg" viewBox="0 0 56 46" .*aria-label="Three &amp; more"/,
    );
  });
});
