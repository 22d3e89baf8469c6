/**
 * Samples against exact arithmetic: fractions of whole numbers, made from the decimal text. Equality
 * is exact, halves up: there is no tolerance in this file.
 */

import { describe, expect, it } from 'vitest';
import { decimal, nearestSample } from '../../src/timing/fixed.ts';
import { allEdges, pattern, settings } from './build.ts';
import { Fraction, startOf } from './slow.ts';

const RATES = [44_100, 48_000, 96_000, 192_000];
const STEPS = 16;
const EVERY_STEP = pattern(['x'.repeat(STEPS)]);
const GATE = { unit: 'seconds', value: 0.0031 } as const;

describe('times', () => {
  describe.each(RATES)('at %d Hz', (sampleRate) => {
    it.each([
      ['92.1', '0.58'],
      ['133', '0.5'],
      ['120', '0.66667'],
      ['174.35', '0.5417'],
    ])('are exact to the sample for twenty minutes at %s bpm, swing %s', (tempo, swing) => {
      const song = settings([EVERY_STEP], {
        tempo: Number(tempo),
        swing: Number(swing),
        gate: GATE,
      });
      const found = allEdges(song, { sampleRate, until: 1200 }).filter(
        ({ output }) => output === 0,
      );
      expect(found.length).toBeGreaterThan(2 * 7000);
      const gate = Fraction.of(GATE.value);
      const wrong = found.filter((edge, i) => {
        const start = startOf(i >> 1, tempo, swing);
        return edge.sample !== (i % 2 === 0 ? start : start.plus(gate)).sampleAt(sampleRate);
      });
      expect(wrong).toEqual([]);
    });
  });

  it('round halves up: sixteenths at 120 bpm are 5512.5 samples at 44.1 kHz', () => {
    const found = allEdges(settings([EVERY_STEP]), { sampleRate: 44_100, until: 0.6 })
      .filter((edge) => edge.output === 0 && edge.volts > 0)
      .map(({ sample }) => sample);
    expect(found).toEqual([0, 5513, 11_025, 16_538, 22_050]);
  });

  it('round halves up that come of rounded parts: every sixth step at 648 bpm is one', () => {
    // A step is 1020.8333 samples at 44.1 kHz.
    const song = settings([EVERY_STEP], { tempo: 648, gate: GATE });
    const found = allEdges(song, { sampleRate: 44_100, until: 60 })
      .filter((edge) => edge.output === 0 && edge.volts > 0)
      .map(({ sample }) => sample);
    const exact = found.map((_, k) => startOf(k, '648', '0.5').sampleAt(44_100));
    expect(found).toEqual(exact);
    expect(found).toHaveLength(648 * 4);
  });

  it('take for a half what lies within 9e-13 under it, and nothing more', () => {
    expect(nearestSample(10, 0.5)).toBe(11);
    expect(nearestSample(10, 0.5 - 1e-13)).toBe(11);
    expect(nearestSample(10, 0.5 - 1e-12)).toBe(10);
    expect(nearestSample(10, -0.5)).toBe(10);
    expect(nearestSample(10, -0.6)).toBe(9);
  });

  it('keep up with 999 bpm and 24 steps a quarter, and with 1 bpm', () => {
    // Each stroke lasts 1 ms of the 2.5025 ms of a step.
    const gate = { unit: 'seconds', value: 0.001 } as const;
    const fast = { ...EVERY_STEP, stepsPerQuarter: 24 };
    const quick = settings([fast], { tempo: 999, gate });
    const starts = allEdges(quick, { until: 10 }).filter((e) => e.output === 0 && e.volts > 0);
    expect(starts).toHaveLength(Math.ceil((10 * 999 * 24) / 60));
    starts.forEach(({ sample }, k) => {
      const exact = new Fraction(60n * BigInt(k), 999n * 24n);
      if (k % 13 === 0) expect(sample).toBe(exact.sampleAt(48_000));
    });

    const slow = allEdges(settings([EVERY_STEP], { tempo: 1 }), { until: 240 });
    const slowStarts = slow.filter((e) => e.output === 0 && e.volts > 0);
    expect(slowStarts.map(({ sample }) => sample)).toEqual(
      Array.from({ length: STEPS }, (_, k) => k * 15 * 48_000),
    );
  });
});

describe('decimal', () => {
  it.each([
    [92.1, 921n, 10n],
    [0.58, 58n, 100n],
    [1e-7, 1n, 10_000_000n],
    [36_000, 36_000n, 1n],
    [0, 0n, 1n],
    [1e21, 1_000_000_000_000_000_000_000n, 1n],
    // What scaling leaves in the last bits is not what a person wrote.
    [0.1 + 0.2, 3n, 10n],
  ])('reads %d as a person wrote it', (x, over, under) => {
    const { num, den } = decimal(x);
    expect(num * under).toBe(over * den);
  });

  it.each([Number.NaN, Number.POSITIVE_INFINITY])('refuses %d', (x) => {
    expect(() => decimal(x)).toThrow(RangeError);
  });
});
