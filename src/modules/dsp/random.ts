/**
 * Random numbers: the circuits' generator, for what is drawn beside them, and seeds and draws by name, so that
 * adding a module, or a second use of chance in one, changes no other's numbers.
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

/** Seeding costs some hundred times a draw, so each seeding serves a block of this many steps. */
const BLOCK = 64;

/**
 * The draws behind strokes left to chance. A draw depends on nothing but the seed, the module, the
 * channel and how many steps of the performance came before: neither another channel, nor another
 * step's marks, nor the sample rate can change it.
 */
export class Chance {
  private readonly names: string;
  private readonly draws = new Float64Array(BLOCK);
  private block = -1;

  constructor(seed: string, module: string, channel: string) {
    // As JSON, no two different lists of names can give the same text.
    this.names = JSON.stringify([module, channel, seed]);
  }

  /**
   * Gives the draw of a step: from 0 to 1, 1 left out. Quick when steps come in order.
   * @param step steps of the performance before this one.
   */
  draw(step: number): number {
    const block = Math.floor(step / BLOCK);
    if (block !== this.block) {
      this.block = block;
      const random = alea(`${block} ${this.names}`);
      for (let i = 0; i < BLOCK; i++) this.draws[i] = random();
    }
    return this.draws[step - block * BLOCK] as number;
  }
}
