// Charts of recorded pulses: their labels and where things are drawn, against what the recording was made of.

import { describe, expect, it } from 'vitest';
import { pulseOverlay } from '../../../src/measure/pulses/overlay.ts';
import { pulseMeasures } from '../../../src/measure/pulses/pulses.ts';
import { DARK, PRINT } from '../../../src/output/chart/colours.ts';
import { pulseCharts } from '../../../src/output/chart/pulse-charts.ts';
import type { Threshold } from '../../../src/output/chart/thresholds.ts';
import { close } from '../../close.ts';
import { clockOf, type Recorded, samplesOf, sourceOf } from '../../measure/pulses/synthetic.ts';

const FIRES: Threshold = { input: 'walk.clock', type: 'voltage', on: 2.5, off: 1.5 };

function chartOf(
  recorded: Recorded,
  thresholds: readonly Threshold[] = [],
  colours = PRINT,
): string {
  const source = sourceOf(samplesOf(recorded), recorded.sampleRate, recorded.fullScale);
  const measures = pulseMeasures(source);
  if (typeof measures === 'string') throw new Error(measures);
  const overlay = pulseOverlay(source, measures);
  return pulseCharts('c.wav', [{ name: 'c.wav', measures, overlay, thresholds }], colours);
}

function wordsIn(svg: string): readonly string[] {
  return [...svg.matchAll(/<text[^>]*>([^<]*)</g)].map((found) => found[1] as string);
}

/** Numbers of an attribute of every element of a kind. */
function numbersOf(svg: string, name: string, attribute: string): readonly number[] {
  return [...svg.matchAll(new RegExp(`<${name} [^>]*?\\b${attribute}="([-\\d.]+)"`, 'g'))].map(
    (found) => Number(found[1]),
  );
}

/** The bars: faint. Px. */
function barsIn(svg: string): readonly { x: number; width: number; height: number }[] {
  return [...svg.matchAll(/<rect ([^>]*)>/g)]
    .map((found) => found[1] as string)
    .filter((one) => one.includes(`fill="${PRINT.faint}"`))
    .map((one) => {
      const of = (name: string): number =>
        Number(new RegExp(`${name}="([-\\d.]+)"`).exec(one)?.[1]);
      return { x: of('x'), width: of('width'), height: of('height') };
    });
}

/** Where lines of a dash stand upright, px. */
function linesIn(svg: string, dash: string): readonly number[] {
  const pattern = new RegExp(`d="M([-\\d.]+) 0V[^>]*stroke-dasharray="${dash}"`, 'g');
  return [...svg.matchAll(pattern)].map((found) => Number(found[1]));
}

describe('the charts of recorded pulses', () => {
  it('name mean, rms and worst of the periods as they were made', () => {
    const clock = clockOf({ period: 0.05, count: 200, width: 0.01, jitter: 2e-4 });
    const svg = chartOf(clock);
    const words = wordsIn(svg);
    const rises = clock.pulses.map(({ rise }) => rise);
    const periods = rises.slice(1).map((time, n) => time - (rises[n] as number));
    // Not the line's own period: the mean of all, which differs by the jitter of two edges over 199.
    const mean = ((rises.at(-1) as number) - (rises[0] as number)) / periods.length;
    const offs = periods.map((one) => one - mean);
    const rms = Math.sqrt(offs.reduce((sum, off) => sum + off * off, 0) / offs.length);
    const worst = offs.reduce((most, off) => (Math.abs(off) > Math.abs(most) ? off : most));
    const told = (word: string): number => {
      const text = words.find((one) => one.startsWith(`${word} `)) ?? '';
      const [, sign, value, unit] = /([\u2212+]?)([\d.]+) (us|ms)$/.exec(text) ?? [];
      return (sign === '\u2212' ? -1 : 1) * Number(value) * (unit === 'ms' ? 1e-3 : 1e-6);
    };
    close(told('mean'), mean, { abs: 3e-6, unit: 's', why: 'jitter of two edges over 199' });
    close(told('rms'), rms, { rel: 0.01, unit: 's', why: 'three digits, and edges to 1 us' });
    close(told('worst'), worst, { abs: 4e-6, unit: 's', why: 'edges to 1 us, and the mean' });
    const at = offs.indexOf(worst);
    expect(words.join(' ')).toContain(`The worst begins at ${(rises[at] as number).toFixed(3)} s.`);
    // Its line stands at the outer end of the bars, the mean's as far from both lines at the rms.
    const bars = barsIn(svg);
    const [mark = 0] = linesIn(svg, '9 3 2 3');
    const end =
      worst < 0
        ? (bars[0]?.x ?? 0) - 0.5
        : Math.max(...bars.map(({ x, width }) => x + width)) + 0.5;
    close(mark, end, { abs: 0.02, unit: 'px', why: 'hundredths, twice' });
    const [zero = 0] = linesIn(svg, '7 3');
    const [left = 0, right = 0] = linesIn(svg, '2 2.5');
    close(zero, (left + right) / 2, { abs: 0.02, unit: 'px', why: 'hundredths, twice' });
    close((mark - zero) / (right - zero), worst / rms, { rel: 0.02, unit: '', why: 'as above' });
  });

  it('count every period in a bar, the missing pulse apart, and one among thousands is seen', () => {
    const clock = clockOf({ period: 0.006, count: 2000, width: 0.002, jitter: 1e-5 });
    const pulses = clock.pulses
      .map(({ rise, fall }, n) => (n === 900 ? { rise: rise + 3e-4, fall } : { rise, fall }))
      .filter((_, n) => n !== 1500);
    const svg = chartOf({ ...clock, pulses });
    const words = wordsIn(svg);
    expect(words).toContain('c.wav: 1997 periods');
    expect(words.join(' ')).toContain('Left out: what lies beside 1 missing pulse.');
    const bars = barsIn(svg).map(({ height }) => height);
    expect(bars.length).toBeGreaterThan(5);
    for (const height of bars) expect(height).toBeGreaterThanOrEqual(2);
    const [, below = ''] = svg.split('>c.wav: 1997 periods<');
    const ticks = [...below.matchAll(/<text x="-5" y="([-\d.]+)" text-anchor="end">(\d+)</g)].map(
      (found) => ({ at: Number(found[1]), count: Number(found[2]) }),
    );
    const [first, last] = [ticks[0], ticks.at(-1)] as { at: number; count: number }[];
    const each = ((first?.at ?? 0) - (last?.at ?? 0)) / ((last?.count ?? 0) - (first?.count ?? 0));
    const counted = bars.reduce((sum, height) => sum + height / each, 0);
    const rare = bars.filter((height) => height === 2).length;
    // The two beside the late one, each alone in a bar that is drawn higher than it is.
    expect(rare).toBeGreaterThanOrEqual(2);
    close(counted, 1997, { abs: rare * (2 / each) + 2, unit: 'periods', why: 'rare ones, pixels' });
  });

  it('draw the thresholds of inputs at their volts, and none where no level can be told', () => {
    const clock = clockOf({ period: 0.1, count: 20, width: 0.03 });
    const svg = chartOf(clock, [FIRES]);
    const words = wordsIn(svg);
    expect(words).toContain('fires above 2.5 V');
    expect(words).toContain('ready below 1.5 V');
    // Volts go linearly: 1 V is as far from 2.5 as from 1.5 whatever the scale, and low, high lie symmetric.
    const across = [
      ...svg.matchAll(/d="M0 ([\d.]+)H[\d.]+" stroke="[^"]+" stroke-width="1.4"/g),
    ].map((found) => Number(found[1]));
    const ticks = [...svg.matchAll(/<text x="-5" y="([\d.]+)" text-anchor="end">(\d)</g)].map(
      (found) => ({ at: Number(found[1]) - 4, volts: Number(found[2]) }),
    );
    const [one, two] = [1, 2].map((volts) => ticks.find((tick) => tick.volts === volts)?.at ?? 0);
    const volt = (one as number) - (two as number);
    expect(across).toHaveLength(2);
    for (const [n, volts] of [2.5, 1.5].entries())
      close(across[n] as number, (one as number) - (volts - 1) * volt, {
        abs: 0.05,
        unit: 'px',
        why: 'hundredths, four times',
      });
    const hidden = wordsIn(
      chartOf(clockOf({ period: 0.1, count: 20, width: 0.03, corner: 2 }), [FIRES]),
    );
    expect(hidden.some((word) => word.startsWith('fires'))).toBe(false);
    expect(hidden.join(' ')).toContain('a capacitor is in the way');
  });

  it('draw a rhythm by its intervals, one pulse without any, and no NaN', () => {
    const clock = clockOf({ period: 0.1, count: 30, width: 0.01 });
    const rhythm = { ...clock, pulses: clock.pulses.filter((_, n) => n % 7 < 4 && n % 3 > 0) };
    const words = wordsIn(chartOf(rhythm));
    expect(words).toContain('shortest 100 ms');
    expect(words.join(' ')).toContain('They come as a rhythm');
    for (const count of [1, 2, 3, 5]) {
      const svg = chartOf(clockOf({ period: 0.1, count, width: 0.01 }));
      expect(svg).not.toMatch(/NaN|Infinity|undefined/);
      expect(wordsIn(svg).some((word) => /interval|period/.test(word))).toBe(count > 1);
      for (const size of ['width', 'height'])
        expect(numbersOf(svg, 'rect', size).every((value) => value > 0)).toBe(true);
    }
  });

  it('take the colours of a dark page', () => {
    const svg = chartOf(clockOf({ period: 0.1, count: 5, width: 0.01 }), [FIRES], DARK);
    for (const colour of [PRINT.paper, PRINT.ink, PRINT.series[0]])
      expect(svg).not.toContain(colour);
  });
});
