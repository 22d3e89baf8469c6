// The panner against cos^2 + sin^2 = 1.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { leftGain, panner } from '../../src/modules/panner.ts';
import { close } from '../close.ts';
import { Bench, jack } from './harness.ts';

const RATE = 48_000;
const why = 'quarterSine is within 1.4e-11 of the sine';

/** Numbers spread evenly: fast-check's own doubles crowd about 0. */
function between(min: number, max: number): fc.Arbitrary<number> {
  return fc.integer({ min: 0, max: 1000 }).map((part) => min + ((max - min) * part) / 1000);
}

function sides(pan: number, amount: number, volts: number): { left: number; right: number } {
  const bench = new Bench(panner, {
    sampleRate: RATE,
    settings: { pan, 'control-amount': amount },
  });
  const out = bench.run(1, { in: 1, pan: volts });
  return { left: jack(out, 'left')[0] as number, right: jack(out, 'right')[0] as number };
}

it('is 3.0103 dB down on either side in the middle', () => {
  const { left, right } = sides(0, 1, 0);
  close(20 * Math.log10(left), -10 * Math.log10(2), { abs: 1e-9, unit: 'dB', why });
  close(right, left, { abs: 1e-15, unit: '', why: 'the same formula' });
});

it('leaves nothing on the other side at either end', () => {
  const left = sides(-1, 1, 0);
  const right = sides(0, 1, 5);
  close(left.left, 1, { abs: 1e-10, unit: '', why });
  expect(left.right).toBe(0);
  close(right.right, 1, { abs: 1e-10, unit: '', why });
  expect(right.left).toBe(0);
});

it('keeps the power whatever the setting and the volts', () => {
  fc.assert(
    fc.property(between(-1, 1), between(-1, 1), between(-12, 12), (pan, amount, volts) => {
      const { left, right } = sides(pan, amount, volts);
      close(left * left + right * right, 1, { abs: 1e-10, unit: '', why });
      const place = Math.max(-1, Math.min(1, pan + (amount * volts) / 5));
      const angle = (Math.PI / 4) * (1 + place);
      close(left, Math.cos(angle), { abs: 1e-10, unit: '', why });
      close(right, Math.sin(angle), { abs: 1e-10, unit: '', why });
    }),
  );
});

it('tells the stems its gains only where no voltage can move them', () => {
  const fixed = panner.sums?.({ pan: -0.4, 'control-amount': 0 }) ?? [];
  expect(fixed.map(({ output, input }) => `${input} -> ${output}`)).toEqual([
    'in -> left',
    'in -> right',
  ]);
  const { left, right } = sides(-0.4, 0, 3);
  expect(fixed.map(({ gain }) => gain)).toEqual([left, right]);
  expect(leftGain(-0.4)).toBe(left);
  expect(panner.sums?.({ pan: -0.4, 'control-amount': 1 })).toEqual([]);
});
