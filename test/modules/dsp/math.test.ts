// Against Math of the engine that runs the test, against exact surds, and against constants of
// Abramowitz & Stegun, Handbook of Mathematical Functions, table 1.1 (values from memory).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  cosTurns,
  dbOfGain,
  exp,
  exp2,
  gainOfDb,
  log,
  log2,
  sinTurns,
  tanTurns,
} from '../../../src/modules/dsp/math.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';

const ULP = Number.EPSILON;
/** Math's own functions are within one unit in the last place in the engines that run the tests. */
function nearMath(actual: number, wanted: number, ulps: number): void {
  if (actual === wanted) return;
  close(actual, wanted, {
    rel: (ulps + 1) * ULP,
    unit: '1',
    why: `${ulps} units in the last place as documented, and one for Math`,
  });
}

describe('exp2', () => {
  it('agrees with Math.pow within the 3 units it documents', () => {
    fc.assert(
      fc.property(fc.double({ min: -1021, max: 1023.99, noNaN: true }), (x) => {
        nearMath(exp2(x), 2 ** x, 3);
      }),
      runs(5000),
    );
  });

  it('is exact at whole numbers', () => {
    for (let x = -1022; x < 1024; x++) expect(exp2(x)).toBe(2 ** x);
  });

  it('gives the surds of the tempered scale: 2^(1/2), 2^(1/3) cubed, 2^(1/12) to the twelfth', () => {
    const why = 'the power multiplies the error';
    close(exp2(0.5), Math.SQRT2, { rel: 3 * ULP, unit: '1', why: 'as documented' });
    close(exp2(1 / 3) ** 3, 2, { rel: 12 * ULP, unit: '1', why });
    close(exp2(1 / 12) ** 12, 2, { rel: 48 * ULP, unit: '1', why });
  });

  it('gives its limits at the ends: 0, never a denormal, and infinity', () => {
    expect(exp2(-1022)).toBe(2.2250738585072014e-308);
    expect(exp2(-1022.001)).toBe(0);
    expect(exp2(Number.NEGATIVE_INFINITY)).toBe(0);
    expect(exp2(1024)).toBe(Number.POSITIVE_INFINITY);
    expect(exp2(Number.POSITIVE_INFINITY)).toBe(Number.POSITIVE_INFINITY);
    expect(exp2(Number.NaN)).toBeNaN();
  });
});

describe('exp', () => {
  it('agrees with Math.exp within the |x| + 3 units it documents', () => {
    fc.assert(
      fc.property(fc.double({ min: -700, max: 700, noNaN: true }), (x) => {
        nearMath(exp(x), Math.exp(x), Math.abs(x) + 3);
      }),
      runs(5000),
    );
  });

  it('gives 1/e, the root of e and e^pi (Abramowitz & Stegun, table 1.1)', () => {
    nearMath(exp(-1), 0.36787944117144233, 4);
    nearMath(exp(0.5), 1.6487212707001282, 4);
    nearMath(exp(Math.PI), 23.140692632779267, 6);
    expect(exp(0)).toBe(1);
  });
});

describe('log2 and log', () => {
  it('agree with Math.log2 and Math.log over all positive numbers', () => {
    // A number within an ulp of 1 has a logarithm near 0, so the error is absolute there.
    const near = (actual: number, wanted: number): void =>
      close(actual, wanted, {
        abs: 4 * ULP * Math.max(Math.abs(wanted), 0.5),
        unit: '1',
        why: 'a few roundings of a sum of exponent and series',
      });
    fc.assert(
      fc.property(fc.double({ min: Number.MIN_VALUE, max: 1e308, noNaN: true }), (x) => {
        near(log2(x), Math.log2(x));
        near(log(x), Math.log(x));
      }),
      runs(5000),
    );
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 2, noNaN: true }), (x) => {
        near(log2(x), Math.log2(x));
      }),
      runs(5000),
    );
  });

  it('are exact at powers of two, the smallest denormal included', () => {
    for (let x = -1074; x < 1024; x++) expect(log2(2 ** x)).toBe(x);
    expect(log(1)).toBe(0);
  });

  it('give ln 3 and ln pi (Abramowitz & Stegun, table 1.1)', () => {
    nearMath(log(3), 1.0986122886681098, 2);
    nearMath(log(Math.PI), 1.1447298858494002, 2);
  });

  it('give their limits at 0, at infinity and beyond their domain', () => {
    expect(log2(0)).toBe(Number.NEGATIVE_INFINITY);
    expect(log2(-0)).toBe(Number.NEGATIVE_INFINITY);
    expect(log2(Number.POSITIVE_INFINITY)).toBe(Number.POSITIVE_INFINITY);
    expect(log2(-1)).toBeNaN();
    expect(log2(Number.NaN)).toBeNaN();
    expect(log(0)).toBe(Number.NEGATIVE_INFINITY);
  });

  it('undo exp2 and exp', () => {
    fc.assert(
      fc.property(fc.double({ min: -1000, max: 1000, noNaN: true }), (x) => {
        close(log2(exp2(x)), x, {
          abs: 8 * ULP * Math.max(1, Math.abs(x)),
          unit: '1',
          why: '3 units in the last place of the power, and the rounding of the logarithm',
        });
      }),
    );
  });
});

describe('decibels', () => {
  it('are 20 log10 of a gain: 20 dB is 10, -60 dB a thousandth, 6.0206 dB 2 (arithmetic)', () => {
    const allowed = { rel: 20 * ULP, unit: '1', why: 'exp, as documented' };
    close(gainOfDb(20), 10, allowed);
    close(gainOfDb(-60), 0.001, allowed);
    close(gainOfDb(120), 1e6, { ...allowed, rel: 40 * ULP });
    expect(gainOfDb(0)).toBe(1);
    expect(gainOfDb(Number.NEGATIVE_INFINITY)).toBe(0);
    close(dbOfGain(2), 6.020599913279624, { ...allowed, unit: 'dB' });
    close(dbOfGain(0.001), -60, { ...allowed, unit: 'dB' });
    expect(dbOfGain(1)).toBe(0);
    expect(dbOfGain(0)).toBe(Number.NEGATIVE_INFINITY);
  });
});

describe('sinTurns, cosTurns and tanTurns', () => {
  it('agree with Math', () => {
    const allowed = { abs: 4 * ULP, unit: '1', why: 'of a full scale of 1; 2 pi x is rounded too' };
    fc.assert(
      fc.property(fc.double({ min: -0.5, max: 0.5, noNaN: true }), (turns) => {
        close(sinTurns(turns), Math.sin(2 * Math.PI * turns), allowed);
        close(cosTurns(turns), Math.cos(2 * Math.PI * turns), allowed);
      }),
      runs(5000),
    );
    fc.assert(
      fc.property(fc.double({ min: -0.24, max: 0.24, noNaN: true }), (turns) => {
        const wanted = Math.tan(2 * Math.PI * turns);
        // The slope of the tangent, 1 + tan^2, magnifies the rounding of its argument.
        const abs = 8 * ULP * (1 + wanted * wanted);
        close(tanTurns(turns), wanted, { abs, unit: '1', why: 'rounding of 2 pi turns' });
      }),
      runs(5000),
    );
  });

  it('give the surds: sin 15, 18, 30, 45, 60 degrees, tan 22.5 and 60 degrees', () => {
    const allowed = { rel: 4 * ULP, unit: '1', why: 'series and rounding of the angle' };
    close(sinTurns(15 / 360), (Math.sqrt(6) - Math.SQRT2) / 4, allowed);
    close(sinTurns(18 / 360), (Math.sqrt(5) - 1) / 4, allowed);
    close(sinTurns(30 / 360), 0.5, allowed);
    close(sinTurns(1 / 8), Math.SQRT1_2, allowed);
    close(sinTurns(60 / 360), Math.sqrt(3) / 2, allowed);
    close(cosTurns(60 / 360), 0.5, allowed);
    close(tanTurns(1 / 16), Math.SQRT2 - 1, allowed);
    close(tanTurns(1 / 6), Math.sqrt(3), { ...allowed, rel: 8 * ULP });
  });

  it('are exact at quarter turns, however many turns have gone by', () => {
    for (const turns of [0, 7, -3, 1e9]) {
      expect(Math.abs(sinTurns(turns))).toBe(0);
      expect(sinTurns(turns + 0.25)).toBe(1);
      expect(sinTurns(turns - 0.25)).toBe(-1);
      expect(Math.abs(sinTurns(turns + 0.5))).toBe(0);
      expect(cosTurns(turns)).toBe(1);
      expect(cosTurns(turns + 0.5)).toBe(-1);
      expect(Math.abs(cosTurns(turns + 0.25))).toBe(0);
    }
  });

  it('lie on the unit circle and are odd and even (closed form)', () => {
    fc.assert(
      fc.property(fc.double({ min: -1e6, max: 1e6, noNaN: true }), (turns) => {
        const sin = sinTurns(turns);
        const cos = cosTurns(turns);
        close(sin * sin + cos * cos, 1, { abs: 4 * ULP, unit: '1', why: 'rounding' });
        expect(sinTurns(-turns) + sin).toBe(0);
        expect(cosTurns(-turns)).toBe(cos);
      }),
    );
  });
});
