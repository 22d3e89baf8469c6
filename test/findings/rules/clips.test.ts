// clips: samples above full scale, counted in the render.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import { clips } from '../../../src/findings/rules/clips.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { runs } from '../../runs.ts';
import { by, figure, highest, rendered, troubles, voice } from '../voice.ts';

/** A sine of 5 V behind 1 kohm, at the 100 kohm of the output: 4.9505 V. */
const tone = (fullScale: string) =>
  voice({
    out: `full-scale: ${fullScale}`,
    sound: ['tone.sine -> out.left', 'level.out -> out.right'],
    modules: ['tone: { kind: oscillator }'],
  });

describe('clips', () => {
  it('counts the samples above full scale and says by how much', () => {
    const text = tone('4.5 V');
    const [finding, ...others] = by('clips', text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('caution');
    const left = rendered(text, []).mix[0] as Float64Array;
    expect(figure(finding, 'overSamples')).toBe(
      left.filter((sample) => Math.abs(sample) > 1).length,
    );
    close(figure(finding, 'peakVolts'), 4.5 * highest(left.map(Math.abs)), {
      abs: 5e-10,
      unit: 'V',
      why: 'rounding: the figure is of these very samples',
    });
    // 5 V x 100/101 over 4.5 V.
    close(figure(finding, 'peakDbfs'), 20 * Math.log10(500 / 101 / 4.5), {
      abs: 0.005,
      unit: 'dB',
      why: 'the highest sample lies a little under the peak itself',
    });
  });

  it('finds nothing just under full scale', () => {
    expect(troubles(tone('4.96 V'))).toEqual([]);
    const left = rendered(tone('4.96 V'), []).mix[0] as Float64Array;
    expect(highest(left.map(Math.abs))).toBeGreaterThan(0.995);
    expect(highest(left.map(Math.abs))).toBeLessThanOrEqual(1);
  });

  it('says how much was heard of a long song', () => {
    const text = tone('4.5 V').replace(
      'song: [groove]',
      'song: [{ pattern: groove, repeats: 100 }]',
    );
    const [finding] = by('clips', text);
    close(figure(finding, 'heardSeconds'), 30, { abs: 5e-7, unit: 's', why: 'rounding' });
    expect(finding?.message).toContain('in the first 30 s');
    const left = rendered(text, [], 30).mix[0] as Float64Array;
    expect(figure(finding, 'overSamples')).toBe(
      left.filter((sample) => Math.abs(sample) > 1).length,
    );
  });
});

describe('clips within the tolerances that a rack states', () => {
  /** A tone that an envelope opens, on a rack that states levels, a resistance and by how much they are off. */
  const found = (facts: readonly string[], fullScale: number): readonly string[] => {
    const [sine, resistance, peak] = facts;
    const text = voice({
      out: `full-scale: ${fullScale} V`,
      hit: 'x---',
      modules: ['tone: { kind: oscillator, at-zero: 400 Hz }', 'loud: { kind: amplifier }'],
      cables: ['tone.sine -> loud.in'],
      control: ['shape.out -> loud.control'],
      sound: ['loud.out -> out.left', 'level.out -> out.right'],
    });
    const rack = `units:
  drums: { kind: rhythm }
  tone: { kind: oscillator, jacks: { sine: { high: ${sine}, resistance: ${resistance} } } }
  shape: { kind: envelope, jacks: { out: { high: ${peak} } } }
  hiss: { kind: noise }
  level: { kind: amplifier, count: 2 }
  out: { kind: output }
`;
    const patch = patchFrom(`rack: own.yaml\n${text}`, { 'own.yaml': rack });
    return clips.find(contextOf(patch)).map(({ message }) => message);
  };

  it('are told where some corner of all, as the engine plays it, is above full scale', () => {
    const told = { sure: 0, perhaps: 0, never: 0 };
    const share = fc.constantFrom(0, 0.03, 0.1);
    fc.assert(
      fc.property(
        fc.tuple(share, share, share),
        fc.integer({ min: 46, max: 60 }),
        (shares, tenths) => {
          const middle: [number, string][] = [
            [5, 'V'],
            [1, 'kohm'],
            [5, 'V'],
          ];
          const all = middle.map(
            ([value, unit], i) => `${value} ${unit} +- ${100 * (shares[i] as number)} %`,
          );
          const stated = all.map((one) => one.replace(' +- 0 %', ''));
          const corners = Array.from({ length: 8 }, (_, bits) =>
            middle.map(
              ([value, unit], i) =>
                `${(value * (1 + ((bits >> i) & 1 ? 1 : -1) * (shares[i] as number))).toFixed(6)} ${unit}`,
            ),
          );
          const isAt = (facts: readonly string[]): boolean => found(facts, tenths / 10).length > 0;
          const [message] = found(stated, tenths / 10);
          expect(message !== undefined).toBe(corners.some(isAt));
          if (message === undefined) told.never += 1;
          else if (message.includes('at the worst of the tolerances')) told.perhaps += 1;
          else told.sure += 1;
        },
      ),
      runs(8),
    );
    expect(Math.min(told.sure, told.perhaps, told.never)).toBeGreaterThan(0);
  });
});
