import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { attenuator } from '../../src/modules/attenuator.ts';
import { Bench, jack } from './harness.ts';

function out(settings: { level?: number; offset?: number }, volts?: number): number {
  const bench = new Bench(attenuator, { sampleRate: 48_000, settings });
  return jack(bench.run(1, volts === undefined ? {} : { in: volts }), 'out')[0] as number;
}

describe('the attenuator', () => {
  it('passes its input unless set otherwise', () => {
    expect(out({}, 3.25)).toBe(3.25);
  });

  it('scales, turns upside down and shifts', () => {
    expect(out({ level: 0.25 }, 4)).toBe(1);
    expect(out({ level: -0.5 }, 4)).toBe(-2);
    expect(out({ level: -0.5, offset: 3 }, 4)).toBe(1);
  });

  it('gives its offset with nothing plugged in', () => {
    expect(out({ offset: -7 })).toBe(-7);
  });

  it('stops at the supply rails', () => {
    expect(out({ offset: 10 }, 12)).toBe(12);
    expect(out({ offset: -10, level: -1 }, 12)).toBe(-12);
    fc.assert(
      fc.property(
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.double({ min: -10, max: 10, noNaN: true }),
        fc.double({ min: -12, max: 12, noNaN: true }),
        (level, offset, volts) => {
          expect(Math.abs(out({ level, offset }, volts))).toBeLessThanOrEqual(12);
        },
      ),
    );
  });

  it('tells how far its output swings with 5 V either way in', () => {
    const facts = (level: number, offset: number) => attenuator.jacks({ level, offset })[1];
    expect(facts(-0.5, 1)).toMatchObject({ facts: { low: -1.5, high: 3.5 } });
    expect(facts(1, 10)).toMatchObject({ facts: { low: 5, high: 12 } });
  });

  it('is a plain sum only without an offset', () => {
    expect(attenuator.sums?.({ level: 0.3, offset: 0 })).toEqual([
      { output: 'out', input: 'in', gain: 0.3 },
    ]);
    expect(attenuator.sums?.({ level: 0.3, offset: 1 })).toEqual([]);
  });
});
