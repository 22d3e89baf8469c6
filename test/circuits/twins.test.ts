// Circuits that work on two samples at a time, or whose sums are bracketed so that the processor waits
// less, against their slow twins: the equations of src/modules, one number after another.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Definition } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { runs } from '../runs.ts';
import { Bench, Wasm } from './bench.ts';
import { type Case, cases } from './cases.ts';
import { Twins } from './twins/twins.ts';

/** The twins bracket their sums differently: this is what the rounding of a few volts (1e-15 V) adds up to. */
const TWINS: Readonly<Record<string, { readonly volts: number; readonly why: string }>> = {
  ring: { volts: 1e-14, why: 'one sum of two halves' },
  shaper: {
    volts: 1e-9,
    why: 'roots of numbers that are nearly 0, where x turns back beside a corner',
  },
  ladder: { volts: 1e-9, why: 'its own tangent (1e-10 of itself), in a loop that may sing' },
  'fixed-bank': { volts: 1e-10, why: 'a band at 50 Hz holds a rounding for 5000 samples and more' },
  noise: { volts: 1e-12, why: 'the lowest pole holds a rounding for 1400 samples' },
  mixer: { volts: 1e-13, why: 'a sum of eight in other brackets' },
  amplifier: { volts: 1e-14, why: 'one product' },
  resonator: { volts: 1e-10, why: 'a decay of 60 s holds a rounding for all of the run' },
};

/** Whether there is a twin for it: of white noise alone and of other responses there is none. */
function hasTwin({ kind }: Definition, { place }: Case): boolean {
  if (kind === 'noise') return place.patched.some((jack) => jack !== 'white');
  return kind !== 'amplifier' || place.values.response === 'linear';
}

describe.each(Object.entries(TWINS))('%s', (kind, { volts, why }) => {
  const definition = KINDS.find((candidate) => candidate.kind === kind) as Definition;

  it(`gives what its twin gives, within ${volts} V: ${why}`, () => {
    let tried = 0;
    fc.assert(
      fc.property(cases(definition), (drawn) => {
        fc.pre(hasTwin(definition, drawn));
        tried += 1;
        const { place, blocks, signals } = drawn;
        const given = new Bench(new Wasm(), definition, place).run(blocks, signals);
        const wanted = new Bench(new Twins(), definition, place).run(blocks, signals);
        for (const [name, signal] of Object.entries(wanted)) {
          const off = signal.map((twin, n) => Math.abs((given[name]?.[n] as number) - twin));
          const worst = off.reduce((most, x) => (x > most ? x : most), 0);
          const n = off.indexOf(worst);
          // Written so that what is no number fails.
          if (!off.every((x) => x <= volts))
            expect({ name, n, volts: given[name]?.[n] }).toEqual({ name, n, volts: signal[n] });
        }
      }),
      runs(60),
    );
    expect(tried).toBeGreaterThan(20);
  });
});
