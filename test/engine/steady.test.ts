// Steady volts: those that `electrical` works out for a net that nothing moves are those that the engine
// renders there. Two ways to the same number: spans of levels by Millman's theorem, and circuits on wires.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type NetLevels, patchLevels } from '../../src/electrical/levels.ts';
import { Take } from '../../src/engine/take.ts';
import type { JackRef, Patch } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { readRandom } from './random-patch.ts';

/** An evenly drawn number of so many decimals. */
function between(min: number, max: number, decimals: number): fc.Arbitrary<string> {
  const scale = 10 ** decimals;
  return fc
    .integer({ min: min * scale, max: max * scale })
    .map((n) => (n / scale).toFixed(decimals));
}

const level = between(-100, 100, 1);
const offset = fc.tuple(level, between(-10, 10, 2)).map(([share, volts]) => ({
  text: `kind: attenuator, level: ${share} %, offset: ${volts} V`,
  inputs: ['in'],
}));
const mixer = fc.tuple(between(0, 100, 1), between(0, 100, 1)).map(([a, b]) => ({
  text: `kind: mixer, level-1: ${a} %, level-2: ${b} %`,
  inputs: ['in-1', 'in-2'],
}));

/** Offsets and mixers, each plugged into a later one: where two go to one input, they drive one net. */
const steadyPatch = fc
  .tuple(
    fc.array(fc.tuple(offset, fc.nat(), fc.nat()), { minLength: 2, maxLength: 5 }),
    fc.array(fc.tuple(fc.oneof(offset, mixer), fc.nat(), fc.nat()), { minLength: 1, maxLength: 5 }),
  )
  .map(([first, rest]): string => {
    const made = [...first, ...rest];
    const cables = made.slice(0, -1).map(([, pick, jack], index) => {
      const from = Math.max(index + 1, first.length);
      const to = from + (pick % (made.length - from));
      const inputs = made[to]?.[0].inputs ?? [];
      return `m${index}.out -> m${to}.${inputs[jack % inputs.length]}`;
    });
    return [
      'modules:',
      ...made.map(([{ text }], index) => `  m${index}: { ${text} }`),
      '  out: { kind: output }',
      'cables:',
      ...cables.map((cable) => `  - ${cable}`),
      `  - m${made.length - 1}.out -> out.left`,
      '',
    ].join('\n');
  });

/** The jacks of the nets that stand at one level, but for rounding, and that level. */
function standing(patch: Patch): { readonly jack: JackRef; readonly volts: number }[] {
  return patchLevels(patch).flatMap(({ net, low, high }: NetLevels) => {
    const [jack] = net.jacks;
    return jack !== undefined && high - low < 1e-12 ? [{ jack, volts: low }] : [];
  });
}

describe('a net that nothing moves', () => {
  it('is rendered at the volts that `volts` tells, from the first sample to the last', () => {
    let [stood, joined] = [0, 0];
    fc.assert(
      fc.property(steadyPatch, (text) => {
        const patch = readRandom(text) as Patch;
        const nets = standing(patch);
        const take = new Take(patch, {
          sampleRate: 8000,
          length: { unit: 'seconds', value: 0.05 },
          tail: { unit: 'seconds', value: 0 },
          probes: nets.map(({ jack }) => jack),
        });
        for (let given = take.read(); given > 0; given = take.read())
          nets.forEach(({ volts }, index) => {
            for (const at of [0, given - 1])
              close(take.probes[index]?.[at] as number, volts, {
                abs: 1e-12,
                unit: 'V',
                why: 'some twenty sums of at most 12 V, in other brackets',
              });
          });
        stood += nets.length;
        joined += patchLevels(patch).filter(({ net }) => net.outputs.length > 1).length;
      }),
      runs(300),
    );
    // Most nets of such a patch stand, and many have several outputs.
    expect(stood).toBeGreaterThan(runs(300).numRuns);
    expect(joined).toBeGreaterThan(runs(300).numRuns);
  });
});
