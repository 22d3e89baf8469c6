// Tolerances that a rack states of single facts, through chains of modules. Checked against brute force:
// every corner of every value that may be off, each by its own share, worked out by the laws themselves.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { patchLevels } from '../../src/electrical/levels.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { chain, expectCorners, valuesOf } from './chain.ts';
import { drumsOnRack, onRack } from './measured.ts';

const ROUNDING = { abs: 5e-13, unit: 'V', why: 'rounding' };

const doubt = fc.option(fc.constantFrom(0.005, 0.02, 0.1), { nil: undefined });
const doubted = fc
  .record({
    chain,
    // With none asked for, what was measured is off all the same.
    tolerance: fc.constantFrom(0, 0, 0.03),
    doubts: fc.record({
      high: doubt,
      source: doubt,
      input: doubt,
      output: doubt,
      trigger: doubt,
      on: doubt,
    }),
  })
  .map(({ chain: one, tolerance, doubts }) => ({ ...one, tolerance, doubts }));

describe('tolerances that a rack states', () => {
  it('give the worst of all corners, along 200 random chains', () => {
    fc.assert(
      fc.property(doubted, (given) => {
        // 2^12 corners of each of them: a second in all.
        fc.pre(valuesOf(given) <= 12);
        expectCorners(given);
      }),
      runs(200),
    );
  });

  const trigger = (clock: string, tolerance: number, pulse = '') => {
    const patch = drumsOnRack(`clock: { ${clock} }`, pulse);
    const levels = patchLevels(patch, tolerance).flatMap(({ inputs }) => inputs);
    return levels.find(({ terminal }) => terminal.module.name === 'one')?.trigger;
  };

  it('hold whatever tolerance is asked for, and for their own facts alone, worked by hand', () => {
    // 3.3 V behind 1 kohm into 100 kohm; the level alone may be off, by 0.1 V.
    const stated = trigger('high: 3.3 V +- 0.1 V', 0);
    close(stated?.driven, (3.3 * 100) / 101, ROUNDING);
    close(stated?.least, (3.2 * 100) / 101, ROUNDING);
    close(stated?.margin, (3.2 * 100) / 101 - 2.5, ROUNDING);
    const wide = trigger('high: 3.3 V +- 0.1 V', 0.1);
    close(wide?.least, (3.2 * 90) / (90 + 1.1), ROUNDING);
    const threshold = trigger('high: 3.3 V', 0, 'on: 2.4 V ± 5 %');
    close(threshold?.margin, (3.3 * 100) / 101 - 2.52, ROUNDING);
  });

  it.each([
    // Known by its high level alone a wave keeps its middle; one known by both has each as it is stated.
    ['high: 5 V +- 20 %', -6, 6],
    ['high: 5 V +- 20 %, low: -5 V', -5, 6],
    ['high: 5 V, low: -5 V +- 10 %', -5.5, 5],
  ])('of a wave are those of both its ends: %s', (stated, low, high) => {
    const patch = onRack(
      '  tone: { kind: oscillator }\n  out: { kind: output }',
      'tone.sine -> out.left',
      `  tone: { kind: oscillator, jacks: { sine: { ${stated} } } }\n  out: { kind: output }`,
    );
    const worst = patchLevels(patch)[0]?.worst;
    close(worst?.low, (low * 100) / 101, ROUNDING);
    close(worst?.high, (high * 100) / 101, ROUNDING);
  });

  it('are none where the rack states none', () => {
    const plain = trigger('high: 3.3 V', 0);
    expect(plain?.least).toBe(plain?.driven);
  });
});
