// The crossfader against cos^2 + sin^2 = 1 and against a straight line.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { crossfader } from '../../src/modules/crossfader.ts';
import { close } from '../close.ts';
import { Bench, jack } from './harness.ts';

const why = 'quarterSine is within 1.4e-11 of the sine';

/** Numbers spread evenly: fast-check's own doubles crowd about 0. */
function between(min: number, max: number): fc.Arbitrary<number> {
  return fc.integer({ min: 0, max: 1000 }).map((part) => min + ((max - min) * part) / 1000);
}

function out(settings: Record<string, unknown>, a: number, b: number, control = 0): number {
  const bench = new Bench(crossfader, { settings });
  return jack(bench.run(1, { a, b, control }), 'out')[0] as number;
}

it('keeps the power of two sounds wherever it stands', () => {
  fc.assert(
    fc.property(between(0, 1), between(-1, 1), between(-12, 12), (mix, amount, volts) => {
      const settings = { mix, 'control-amount': amount };
      const [a, b] = [out(settings, 1, 0, volts), out(settings, 0, 1, volts)];
      close(a * a + b * b, 1, { abs: 1e-10, unit: '', why });
      const place = Math.max(0, Math.min(1, mix + (amount * volts) / 10));
      close(b, Math.sin((Math.PI / 2) * place), { abs: 1e-10, unit: '', why });
    }),
  );
});

it('linear, gives the same volts at both as they came in', () => {
  fc.assert(
    fc.property(between(0, 1), between(-12, 12), between(-12, 12), (mix, volts, control) => {
      const settings = { mix, law: 'linear' };
      close(out(settings, volts, volts, control), volts, { abs: 1e-14, unit: 'V', why: 'a sum' });
      const place = Math.max(0, Math.min(1, mix + control / 10));
      close(out(settings, 0, 1, control), place, { abs: 1e-15, unit: 'V', why: 'rounding' });
    }),
  );
});

it('is 3.01 or 6.02 dB down in the middle, and leaves nothing at the ends', () => {
  close(20 * Math.log10(out({}, 1, 0)), -3.0103, { abs: 1e-4, unit: 'dB', why: 'its four digits' });
  const linear = out({ law: 'linear' }, 1, 0);
  close(20 * Math.log10(linear), -6.0206, { abs: 1e-4, unit: 'dB', why: 'its four digits' });
  for (const law of ['equal-power', 'linear']) {
    expect(out({ law }, 0, 1, -5)).toBe(0);
    expect(out({ law }, 1, 0, 5)).toBe(0);
  }
});

it('tells stems and levels its gains only where no voltage can move them', () => {
  const values = { mix: 0.3, law: 'equal-power', 'control-amount': 0 } as const;
  const gains = crossfader.sums?.(values)?.map(({ gain }) => gain);
  expect(gains).toEqual([out(values, 1, 0, 3), out(values, 0, 1, 3)]);
  expect(crossfader.sums?.({ ...values, 'control-amount': 1 })).toEqual([]);
  const passed = crossfader.passes?.({ ...values, 'control-amount': 1 }, () => false) ?? [];
  expect(passed[0]?.terms.map(({ gain }) => gain)).toEqual(gains);
  expect(crossfader.passes?.({ ...values, 'control-amount': 1 }, () => true)).toEqual([]);
});
