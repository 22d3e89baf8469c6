// A setting's position on its scale: there and back again, whatever the control.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Quantity } from '../../../src/modules/definition.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import {
  type NumberControl,
  scalePosition,
  scaleText,
  scaleTicks,
  scaleValue,
  stepped,
  steppedFar,
  withUnit,
} from '../../../src/page/worker/scale.ts';
import { isInRatios, parseValue, unitsOf } from '../../../src/patch/units.ts';
import { close } from '../../close.ts';

/** Every number that a kind of module lets one set. */
const CONTROLS = KINDS.flatMap(({ kind, settings }) =>
  Object.entries(settings).flatMap(([name, spec]) => {
    if (!('max' in spec) || spec.type === 'row') return [];
    const { type, min, max, fallback } = spec;
    const control: NumberControl = {
      type: 'number',
      quantity: type,
      value: fallback,
      min,
      max,
      fallback,
      units: unitsOf(type),
      ...('rings' in spec && { rings: spec.rings }),
    };
    return [{ name: `${kind}.${name}`, spec, control }];
  }),
);
const anyControl = fc.constantFrom(...CONTROLS);
const anyPosition = fc.double({ min: 0, max: 1, noNaN: true });

describe('a position', () => {
  it('gives a value that the file can hold and that stands where it was read from', () => {
    fc.assert(
      fc.property(anyControl, anyPosition, ({ spec, control }, position) => {
        const value = scaleValue(position, control);
        const read = parseValue(scaleText(value, control), spec, 'it');
        expect(read.fault).toBeUndefined();
        const again = scalePosition(read.fault === undefined ? read.value : Number.NaN, control);
        // Once rounded, a value stays.
        expect(scaleValue(again, control)).toBe(scaleValue(scalePosition(value, control), control));
        expect(scaleText(scaleValue(again, control), control)).toBe(scaleText(value, control));
      }),
    );
  });

  it('is the same again to what rounding leaves', () => {
    fc.assert(
      fc.property(anyControl, anyPosition, ({ control }, position) => {
        fc.pre(control.quantity !== 'count' && control.quantity !== 'interval');
        // Three digits: a value is off by half a percent at most. The longest way in ratios, from
        // 0.1 ms to 60 s, is a factor of 6e5: 0.5 % is 0.0004 of it; what begins at zero jumps there
        // from its floor, and a way of few ratios is a longer part. So a hundredth.
        close(scalePosition(scaleValue(position, control), control), position, {
          abs: 0.01,
          unit: '',
          why: 'three digits, of the shortest way in ratios, as above',
        });
      }),
    );
  });

  it('rises with the value, from end to end', () => {
    fc.assert(
      fc.property(anyControl, anyPosition, anyPosition, ({ control }, a, b) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)];
        expect(scaleValue(low, control)).toBeLessThanOrEqual(scaleValue(high, control));
      }),
    );
    for (const { control } of CONTROLS) {
      expect([scaleValue(0, control), scaleValue(1, control)]).toEqual([control.min, control.max]);
      expect([scalePosition(control.min, control), scalePosition(control.max, control)]).toEqual([
        0, 1,
      ]);
    }
  });
});

describe('a step', () => {
  it('moves unless it is at the end, and never beyond', () => {
    const anyStep = fc.constantFrom(stepped, steppedFar);
    fc.assert(
      fc.property(
        anyControl,
        anyPosition,
        anyStep,
        fc.constantFrom(-1, 1),
        ({ control }, position, step, way) => {
          const value = scaleValue(position, control);
          const next = step(value, way, control);
          const end = way > 0 ? control.max : control.min;
          if (value === end) expect(next).toBe(end);
          else expect(Math.sign(next - value)).toBe(way);
          expect(next).toBeGreaterThanOrEqual(control.min);
          expect(next).toBeLessThanOrEqual(control.max);
        },
      ),
    );
  });

  // Common practice, no source: twelve semitones are an octave.
  it('is a semitone of an interval, a big one an octave; one of a count', () => {
    const base = { type: 'number', value: 0, fallback: 0, units: [] } as const;
    const interval: NumberControl = { ...base, quantity: 'interval', min: -60, max: 60 };
    expect([stepped(0, 1, interval), steppedFar(0, -1, interval)]).toEqual([1, -12]);
    const count: NumberControl = { ...base, quantity: 'count', min: 1, max: 64 };
    expect([stepped(3, 1, count), steppedFar(3, 1, count), stepped(1, -1, count)]).toEqual([
      4, 13, 1,
    ]);
  });
});

describe('a loop', () => {
  // A loop falls to 1/e in -1/ln(share) passages: 90 % in 9.5, 99 % in 99.5, ten times as long.
  it('has as much room for ten times the ringing wherever it is', () => {
    const { control } = CONTROLS.find(({ name }) => name === 'delay-line.feedback') as {
      control: NumberControl;
    };
    const at = (share: number) => scalePosition(share, control);
    expect(at(0)).toBe(0.5);
    // A thousandth of the share is what the end of the scale is short of all of it: at 99 % that is a tenth
    // of what is left off, or 0.04 of a decade of the six.
    close(at(0.99) - at(0.9), at(0.9) - at(0), {
      abs: 0.04 / 6,
      unit: '',
      why: 'a tenth of what is left off at 99 %, as above',
    });
    close(at(-0.9) + at(0.9), 1, { abs: 5e-13, unit: '', why: 'rounding' });
    expect(at(0.9)).toBeLessThan(0.7);
  });
});

describe('ticks', () => {
  it('stand at every decade between the ends of a scale in ratios, at zero of one with both signs', () => {
    for (const { name, control } of CONTROLS) {
      const { min, max, quantity } = control;
      const ticks = scaleTicks(control);
      expect(
        ticks.every((at) => at > 0 && at < 1),
        name,
      ).toBe(true);
      if (isInRatios(quantity as Quantity) && min > 0) {
        // The definition: powers of ten within the range.
        const decades = Array.from({ length: 40 }, (_, index) => 10 ** (index - 20));
        const within = decades.filter((value) => value > min && value < max);
        expect(ticks, name).toEqual(within.map((value) => scalePosition(value, control)));
      }
      if (control.rings)
        expect(ticks, name).toEqual(
          [-0.99, -0.9, 0, 0.9, 0.99].map((value) => scalePosition(value, control)),
        );
      else if (!isInRatios(quantity as Quantity))
        expect(ticks.length, name).toBe(min < 0 && max > 0 ? 1 : 0);
    }
  });
});

describe('a number typed without its unit', () => {
  const of = (name: string, value: number): NumberControl => {
    const found = CONTROLS.find((one) => one.name === name);
    if (found === undefined) throw new Error(name);
    return { ...found.control, value };
  };

  // Common practice, no source: what a person means stays near to what stands there.
  it.each([
    ['80', 'envelope.decay', 0.11, '80 ms'],
    ['2', 'envelope.decay', 3, '2 s'],
    ['9', 'filter.cutoff', 7000, '9 kHz'],
    ['440', 'filter.cutoff', 7000, '440 Hz'],
    ['2', 'noise.level', 2.3, '2 V'],
    ['40', 'envelope.sustain', 0, '40 %'],
  ])('"%s" for %s is offered with the unit that fits', (typed, name, value, offered) => {
    expect(withUnit(typed, of(name, value))).toBe(offered);
  });

  it('is offered as nothing where no unit fits, or where it is no bare number', () => {
    expect(withUnit('400', of('envelope.sustain', 0.5))).toBeUndefined();
    for (const text of ['', 'fast', '80 ms', '8,5', '1e3', '--4'])
      expect(withUnit(text, of('envelope.decay', 0.1)), text).toBeUndefined();
  });

  it('is offered as what the file takes, whatever the control', () => {
    fc.assert(
      fc.property(
        anyControl,
        fc.integer({ min: -200, max: 20_000 }),
        ({ spec, control }, number) => {
          const text = withUnit(String(number), control);
          if (text !== undefined) expect(parseValue(text, spec, '').fault).toBeUndefined();
          else if (control.units.length > 0)
            for (const unit of control.units)
              expect(parseValue(`${number} ${unit}`, spec, '').fault).toBeDefined();
        },
      ),
    );
  });
});
