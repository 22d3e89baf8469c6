/** Seeds by name: adding a module, or a second use of chance in one, changes no other's numbers. */

import alea from 'seedrandom/lib/alea.js';

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
