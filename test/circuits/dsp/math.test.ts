// Functions that circuits and definitions each have, since AssemblyScript cannot share tables with
// JavaScript. They must agree to the bit: a definition predicts what a circuit does.

import '../shim.ts';
import { describe, expect, it } from 'vitest';
import { exp, exp2, gainOfDb, log, log2 } from '../../../src/circuits/dsp/math';
import * as modules from '../../../src/modules/dsp/math.ts';

/** Sizes from the smallest to the largest that are of use, either sign, and what is no number. */
const NUMBERS = [
  ...Array.from({ length: 4000 }, (_, n) => (n % 2 === 0 ? 1 : -1) * 1.37 ** (n / 4 - 500)),
  ...Array.from({ length: 2200 }, (_, n) => n - 1100 + n / 2200),
  0,
  Number.NaN,
  Number.POSITIVE_INFINITY,
  Number.NEGATIVE_INFINITY,
];

describe.each([
  { circuit: exp, beside: modules.exp },
  { circuit: exp2, beside: modules.exp2 },
  { circuit: gainOfDb, beside: modules.gainOfDb },
  { circuit: log, beside: modules.log },
  { circuit: log2, beside: modules.log2 },
])('$circuit.name', ({ circuit, beside }) => {
  it('is the same in a circuit and beside it', () => {
    expect(NUMBERS.filter((x) => !Object.is(circuit(x), beside(x)))).toEqual([]);
  });
});
