// The quantizer against slow code: every note in every octave, and the nearest of them.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { quantizer, withinSpan } from '../../src/modules/quantizer.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { gate, starts } from './gates.ts';
import { Bench, jack, type Volts } from './harness.ts';

const RATE = 48_000;
/** C, D, Eb, G: semitones over 12. */
const FOUR = [0, 2, 3, 7].map((semitones) => semitones / 12);

/** With no plug in `trigger`. */
function run(settings: Record<string, unknown>, samples: number, volts: Record<string, Volts>) {
  const patched = ['out', 'changed'];
  return new Bench(quantizer, { settings, sampleRate: RATE, patched }).run(samples, volts);
}

/** The nearest of all notes from 15 spans below to 15 above; of two as near, the lower. */
function nearest(volts: number, notes: readonly number[], span: number): number {
  let best = Number.NaN;
  for (let turn = -15; turn <= 15; turn++)
    for (const note of notes) {
      const one = note + turn * span;
      if (Number.isNaN(best) || Math.abs(volts - one) < Math.abs(volts - best) - 1e-12) best = one;
    }
  return best;
}

const note = fc.integer({ min: -120, max: 120 }).map((tenths) => tenths / 120);

describe('out', () => {
  it('is the nearest note of the set, in any octave', () => {
    fc.assert(
      fc.property(
        fc.array(note, { minLength: 1, maxLength: 12 }),
        fc.constantFrom(12, 12, 19, 7, 0),
        fc.array(
          fc.integer({ min: -6007, max: 6007 }).map((n) => n / 1013),
          { minLength: 1, maxLength: 40 },
        ),
        (notes, span, inputs) => {
          const settings = { notes, span, hysteresis: 0 };
          const out = jack(run(settings, inputs.length, { in: inputs }), 'out');
          inputs.forEach((volts, n) => {
            const best = nearest(volts, notes, span / 12);
            const got = out[n] as number;
            // As near as the nearest: halfway between two, roundings decide which it is.
            close(Math.abs(volts - got), Math.abs(volts - best), {
              abs: 1e-9,
              unit: 'V',
              why: 'rounding of a few volts',
            });
            const isNote = notes.some((one) => {
              const spans = span === 0 ? 0 : ((got - one) * 12) / span;
              return Math.abs(got - one - (Math.round(spans) * span) / 12) < 1e-9;
            });
            expect(isNote).toBe(true);
          });
        },
      ),
      runs(60),
    );
  });

  it('halfway between two keeps the one it has, or takes the lower', () => {
    const settings = { notes: [0, 0.25, 0.5], hysteresis: 0 };
    const out = (...inputs: number[]) => [
      ...jack(run(settings, inputs.length, { in: inputs }), 'out'),
    ];
    expect(out(0.375, 0.125)).toEqual([0.25, 0.25]);
    expect(out(0.5, 0.375)).toEqual([0.5, 0.5]);
  });

  it('keeps its note until another is nearer by the hysteresis', () => {
    const settings = { notes: [0, 1], span: 0, hysteresis: 1.2 }; // 0.1 V
    const input = [0, 0.5, 0.54, 0.551, 0.5, 0.46, 0.449];
    // |in| - |in - 1| = 2 in - 1 must be over 0.1 V: over 0.55 V up, under 0.45 V down.
    expect([...jack(run(settings, input.length, { in: input }), 'out')]).toEqual([
      0, 0, 0, 1, 1, 1, 0,
    ]);
  });

  it('with a plug in trigger looks only when it rises', () => {
    const volts = { in: (n: number) => n / 100, trigger: gate([50, 150], 10) };
    // On this bench every jack has a plug unless it says otherwise.
    const bench = new Bench(quantizer, { sampleRate: RATE });
    const out = [...jack(bench.run(200, volts), 'out')];
    expect(out.slice(0, 50).every((one) => one === 0)).toBe(true);
    expect(out.slice(50, 150).every((one) => one === 0.5)).toBe(true);
    expect(out.slice(150).every((one) => one === 1.5)).toBe(true);
  });
});

describe('changed', () => {
  it('is a pulse at each change, and none where the note stays', () => {
    const settings = { notes: FOUR, length: 0.0005, hysteresis: 0, level: 8 };
    // 0.02 V a step of 100 samples, from C up to Eb: D at 1/12 V, Eb at 2.5/12 V.
    const input = (n: number): number => Math.floor(n / 100) * 0.02;
    const { changed } = run(settings, 1500, { in: input }) as { changed: Float64Array };
    expect(starts([...changed])).toEqual([500, 1100]);
    expect(Math.max(...changed)).toBe(8);
    expect(changed.filter((one) => one > 0)).toHaveLength(2 * 24);
  });

  it('does not pulse where one note is found from two octaves', () => {
    // 1/3 V and its octaves have no exact binary form: the same note may be a rounding off.
    const settings = { notes: [1 / 3], span: 12, hysteresis: 0 };
    const input = (n: number): number => 1 / 3 + 0.49 * Math.sin(n / 20);
    const { changed } = run(settings, 2000, { in: input }) as { changed: Float64Array };
    expect(starts([...changed])).toEqual([]);
  });
});

describe('the set', () => {
  it('is moved into one span, each note once', () => {
    const set = withinSpan([3, 0.25, -0.75, 1.5, 2 - 1e-12], 1);
    expect(set).toEqual([0, 0.25, 0.5]);
    expect(withinSpan([2, -1, 0.5], 0)).toEqual([-1, 0.5, 2]);
  });
});
