/**
 * Random numbers: the circuits' generator, for what is drawn beside them, and seeds by name, so that adding a
 * module, or a second use of chance in one, changes no other's numbers.
 */

import alea from 'seedrandom/lib/alea.js';
import { Random as Generator } from '../../circuits/dsp/random.ts';

export class Random extends Generator {
  /** @param seeds four 32-bit numbers. */
  constructor([a = 0, b = 0, c = 0, d = 0]: Uint32Array) {
    super(a, b, c, d);
  }
}

/**
 * Four 32-bit seeds for one use of randomness.
 * @param seed the patch's seed, any text.
 * @param module the module's full name.
 * @param purpose what the numbers are for, such as `noise`.
 */
export function seedsFor(seed: string, module: string, purpose: string): Uint32Array {
  // JSON keeps the three apart: no other three texts join to the same one.
  const random = alea(JSON.stringify([seed, module, purpose]));
  return Uint32Array.from({ length: 4 }, () => random.int32() >>> 0);
}
