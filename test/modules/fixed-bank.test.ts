// The bands of the fixed bank against IEC 61260-1: midbands, edges and nominal names.

import { describe, expect, it } from 'vitest';
import { fixedBank } from '../../src/modules/fixed-bank.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { Bench, jack } from './harness.ts';

/** Nominal midbands of the thirds, from x = -13: IEC 61260-1:2014, annex (from memory). */
const NOMINAL =
  '50 63 80 100 125 160 200 250 315 400 500 630 800 1000 1250 1600 2000 2500 3150 4000 5000 6300 8000 10000 12500 16000'
    .split(' ')
    .map(Number);
const OFF = -60;

const midband = (nominal: number): number => 1000 * 10 ** ((NOMINAL.indexOf(nominal) - 13) / 10);

/** Levels of all bands, dB. */
function levels(of: (nominal: number) => number): Record<string, number> {
  return Object.fromEntries(NOMINAL.map((nominal) => [`level-${nominal}`, of(nominal)]));
}

/** Response of the bank, dB at a frequency in Hz. */
function response(rate: number, settings: Record<string, number>): (hertz: number) => number {
  const bench = new Bench(fixedBank, { sampleRate: rate, settings });
  const samples = Math.round(rate / 2);
  const h = jack(bench.run(samples, { in: (n) => (n === 0 ? 1 : 0) }), 'out');
  return (hertz) => {
    const cos = Math.cos((2 * Math.PI * hertz) / rate);
    const sin = Math.sin((2 * Math.PI * hertz) / rate);
    let re = 0;
    let im = 0;
    // Horner's rule: a turn for each sample, without its sine.
    for (let n = h.length - 1; n >= 0; n--) {
      const turned = re * cos - im * sin + (h[n] as number);
      im = re * sin + im * cos;
      re = turned;
    }
    return 10 * Math.log10(re * re + im * im);
  };
}

const alone = (rate: number, nominal: number): ((hertz: number) => number) =>
  response(
    rate,
    levels((one) => (one === nominal ? 0 : OFF)),
  );

it('has a level for each third of an octave from 50 Hz to 16 kHz', () => {
  expect(Object.keys(fixedBank.settings)).toEqual(NOMINAL.map((nominal) => `level-${nominal}`));
});

describe('one band alone', () => {
  it.each([44_100, 48_000, 192_000])(
    'S-noise-21: is whole at its midband and 3.01 dB down at its edges, at %d Hz',
    (rate) => {
      const { midband: mids, edges } = reference('noise', 'S-noise-21').expected as unknown as {
        midband: Record<string, number>;
        edges: Record<string, number[]>;
      };
      for (const [x, hertz] of Object.entries(mids)) {
        const decibels = alone(rate, NOMINAL[Number(x) + 13] as number);
        close(decibels(hertz), 0, {
          abs: 0.03,
          unit: 'dB',
          why: 'the poles are the analogue ones; the numerator agrees at 0 Hz and 0.38 of the rate',
        });
        for (const edge of edges[x] ?? []) {
          close(decibels(edge), -10 * Math.log10(2), {
            abs: 0.1,
            unit: 'dB',
            why: 'as above',
          });
        }
      }
    },
  );

  it('does the same in every other band', () => {
    const rate = 44_100;
    for (const nominal of NOMINAL) {
      const decibels = alone(rate, nominal);
      const middle = midband(nominal);
      close(decibels(middle), 0, {
        abs: 0.12,
        unit: 'dB',
        why: 'as above',
      });
      for (const edge of [middle * 10 ** -0.05, middle * 10 ** 0.05]) {
        close(decibels(edge), -10 * Math.log10(2), {
          abs: 0.45,
          unit: 'dB',
          why: 'as above; at 16 kHz and 44.1 kHz the upper edge lies at 0.41 of the rate',
        });
      }
    }
  });
});

it.each([44_100, 48_000, 96_000])('is the analogue two-pole to 18 kHz at %d Hz', (rate) => {
  const b = 10 ** 0.05 - 10 ** -0.05;
  for (const nominal of [50, 400, 3150, 8000, 16_000]) {
    const decibels = alone(rate, nominal);
    for (let hertz = 30; hertz <= 18_000; hertz *= 1.1) {
      const s = hertz / midband(nominal);
      // |j s b/(1 - s^2 + j s b)|: Sedra & Smith, filters chapter (from memory).
      const wanted = 20 * Math.log10((s * b) / Math.hypot(1 - s * s, s * b));
      close(decibels(hertz), wanted, { abs: 0.45, unit: 'dB', why: 'as documented' });
    }
  }
});

it('adds the bands, each by its level', () => {
  const decibels = response(
    48_000,
    levels((nominal) => (nominal === 100 ? 12 : nominal === 8000 ? -20 : OFF)),
  );
  const why = 'the other band lies six octaves away: under 0.01 dB, 0.1 dB for the quiet one';
  close(decibels(midband(100)), 12, { abs: 0.02, unit: 'dB', why });
  close(decibels(midband(8000)), -20, { abs: 0.7, unit: 'dB', why });
});

it('passes everything about evenly with all levels alike', () => {
  const decibels = response(
    48_000,
    levels(() => 0),
  );
  for (let hertz = 60; hertz < 13_000; hertz *= 1.01) {
    expect(decibels(hertz)).toBeGreaterThan(2.2);
    expect(decibels(hertz)).toBeLessThan(5.5);
  }
});

it('leaves out bands that the rate cannot hold', () => {
  const decibels = response(
    8000,
    levels((nominal) => (nominal > 3000 ? 0 : OFF)),
  );
  // 3150 Hz has its upper edge at 3548 Hz, under 0.45 x 8 kHz; 4 kHz and up have not.
  close(decibels(midband(3150)), 0, {
    abs: 0.3,
    unit: 'dB',
    why: 'so near to half the rate the numerator is off',
  });
  const silent = response(
    8000,
    levels((nominal) => (nominal > 3200 ? 0 : OFF)),
  );
  expect(silent(3900)).toBe(Number.NEGATIVE_INFINITY);
});
