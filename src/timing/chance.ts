/**
 * The draws behind strokes left to chance. A draw depends on nothing but the seed, the module, the
 * channel and how many steps of the performance came before: neither another channel, nor another
 * step's marks, nor the sample rate can change it.
 */

import alea from 'seedrandom/lib/alea.js';

/** Seeding costs some hundred times a draw, so each seeding serves a block of this many steps. */
const BLOCK = 64;

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
