// A recording beside its plan: made from the plan with known shifts, lost pulses and its own clock.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { alignedWith } from '../../../src/measure/pulses/against.ts';
import { between } from '../../circuits/cases.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';

/** A rhythm of sixteenths at 120 bpm, 16 bars: steps by the bits of a number, the first always. */
function planOf(bits: number): number[] {
  const steps = Array.from({ length: 16 }, (_, step) => step).filter(
    (step) => step === 0 || (bits >> step) & 1,
  );
  return Array.from({ length: 16 }, (_, bar) => steps.map((step) => 2 * bar + step / 8)).flat();
}

describe('alignedWith', () => {
  it('finds start and drift, and each pulse where it is, whatever is missing or too many', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 65_535 }),
        between(0.01, 3),
        between(-300, 300),
        fc.integer({ min: 4, max: 30 }),
        between(0.002, 0.02),
        (bits, start, ppm, lost, off) => {
          const plan = planOf(bits);
          const rate = 1 + ppm * 1e-6;
          const [missing, late] = [lost % plan.length, (lost + 7) % plan.length];
          fc.pre(missing !== late);
          const recorded = plan.flatMap((at, n) =>
            n === missing ? [] : [start + rate * at + (n === late ? off : 0)],
          );
          const extra = start + rate * ((plan[2] as number) + 0.06);
          const all = [...recorded, extra].toSorted((a, b) => a - b);
          const found = alignedWith(plan, all, start + 40);
          if (found === undefined) throw new Error('not found');
          // The late one does not pull the line, so that none that is in time is called early.
          const exact = { abs: 1e-6, unit: 's', why: 'exact times but for one' } as const;
          close(found.start, start, exact);
          close(found.drift, ppm, {
            abs: 1,
            unit: 'ppm',
            why: 'the same, over more than a second',
          });
          expect(found.pulses).toHaveLength(plan.length);
          expect(found.pulses[missing]?.late).toBeUndefined();
          for (const [n, pulse] of found.pulses.entries())
            if (n !== missing) close(pulse.late ?? 9, n === late ? off : 0, exact);
          expect(found.extra).toEqual([extra]);
        },
      ),
      runs(60),
    );
  });

  it('follows a drift that adds up to more than a period', () => {
    const plan = Array.from({ length: 2000 }, (_, n) => n / 8 + (n % 2 === 1 ? 0.02 : 0));
    const recorded = plan.slice(40, 1900).map((at) => (at - 5) * 1.0015 + 0.4);
    const found = alignedWith(plan, recorded, 233.4);
    close(found?.drift ?? 0, 1500, { abs: 1e-3, unit: 'ppm', why: 'exact times' });
    // Of all pairs that it may begin with this is the first.
    close(found?.start ?? 0, 0.4, { abs: 1e-6, unit: 's', why: 'exact times' });
    expect(found?.pulses.filter(({ late }) => late !== undefined)).toHaveLength(1860);
    expect(found?.extra).toEqual([]);
  });

  it('takes only the part of the plan that was recorded', () => {
    const plan = planOf(0b10001);
    const from = plan.slice(9, 20);
    const recorded = from.map((at) => at - (from[0] as number) + 0.5);
    const found = alignedWith(plan, recorded, (recorded.at(-1) as number) + 0.2);
    expect(found?.pulses.every(({ late }) => late !== undefined)).toBe(true);
    expect(found?.extra).toEqual([]);
  });

  describe('where the recording begins', () => {
    const clock = Array.from({ length: 200 }, (_, n) => n / 8);
    const swung = clock.map((at, n) => (n % 2 === 1 ? at + 0.02 : at));
    const whole = { abs: 1e-6, unit: 's', why: 'exact times' } as const;

    it.each([
      // Rest before the first pulse, a pulse at the first sample, and nothing that tells.
      ['after a rest', clock, 1, 0, false, 1, undefined],
      ['with its first pulse', clock, 0, 0, false, 0, undefined],
      ['with a later one', clock, 0, 3, false, 0, undefined],
      ['between pulses', clock, 0.06, 3, false, 0.06, 0.125],
      ['within a pulse', clock, 0.12, 3, true, 0.12 - 0.125, 0.125],
      ['between swung ones', swung, 0.06, 3, false, 0.06 - 0.145, 0.25],
      ['with its second, after a rest', clock, 0.5, 1, false, 0.5, undefined],
    ] as const)('%s is told, or that it cannot be', (_, plan, at, from, isCut, start, asWell) => {
      const times = plan.slice(from, from + 40);
      const recorded = times.map((time) => at + time - (times[0] as number));
      const found = alignedWith(plan, recorded, at + 4.95, isCut);
      if (found === undefined) throw new Error('not found');
      close(found.start, start, whole);
      expect(found.pulses.every(({ late }) => late !== undefined)).toBe(true);
      if (asWell === undefined) expect(found.asWell).toBeUndefined();
      else close(found.asWell ?? 0, asWell, whole);
    });

    it('is told by a pulse that is missing, wherever in the song it began', () => {
      const song = Array.from({ length: 64 }, (_, n) => n / 8).filter((_, n) => n !== 37);
      const plan = [0, 8, 16].flatMap((pass) => song.map((at) => pass + at));
      const recorded = plan.slice(30, 80).map((at) => at - 3.7);
      const found = alignedWith(plan, recorded, 6.4);
      close(found?.start ?? 0, -3.7, whole);
      expect(found?.extra).toEqual([]);
    });
  });

  it('does not take a far faster clock for the plan, though a pulse of it lies near each planned one', () => {
    const plan = planOf(0b1000_1000_1000_1001);
    const clock = Array.from({ length: 12_000 }, (_, n) => n / 400);
    expect(alignedWith(plan, clock, 30)).toBeUndefined();
    // The same clock at twice and four times the pace of the plan is still told beside it.
    const steps = planOf(65_535);
    for (const times of [1, 2, 4]) {
      const faster = Array.from({ length: 32 * 8 * times }, (_, n) => n / (8 * times));
      expect(alignedWith(steps, faster, 32)?.extra.length).toBe(faster.length - steps.length);
    }
  });

  it('does not take another rhythm for the plan', () => {
    const plan = planOf(0b0001000100010001);
    const other = Array.from({ length: 60 }, (_, n) => 0.3 + 0.37 * n + 0.11 * Math.sin(5 * n));
    expect(alignedWith(plan, other, 25)).toBeUndefined();
    expect(alignedWith(plan, [], 25)).toBeUndefined();
    expect(alignedWith([], [1, 2], 25)).toBeUndefined();
  });
});
