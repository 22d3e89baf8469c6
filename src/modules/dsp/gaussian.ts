/**
 * Gaussian noise of mean 0 and standard deviation 1, by the ziggurat method: the bell is cut into
 * 256 layers of equal area; a random point of a random layer lies under the bell 99 times in 100
 * without further ado. The result is exact, tails and all, to the resolution of the random bits.
 *
 * Source: Marsaglia & Tsang, "The ziggurat method for generating random variables", J. Statistical
 * Software 5 (2000) 8 (from memory). As Doornik (2005) advises, a layer's number and the place in
 * it come from different bits (from memory).
 */

import { exp, log } from './math.ts';
import { Random } from './random.ts';

const LAYERS = 256;
const TWO_TO_23 = 0x80_00_00;
/** Where the tail begins. A test checks that with these two the layers close at the top. */
export const TAIL_START = 3.6541528853610088;
/** Area of each layer, the tail counting as one. */
export const LAYER_AREA = 0.00492867323399;

// The tables are constants of this file's own: see dsp/rails.ts.
/** Half widths of the layers from the base up; one more, the top's, is 0. */
const EDGES = layerEdges();
const HEIGHTS = EDGES.map((x, layer) => (layer === 0 ? 0 : bell(x)));
/** From a signed 24-bit number to a place in the layer. */
const SCALES = EDGES.map((x) => x / TWO_TO_23);

/** A generator of bits that gives Gaussian numbers too: one object, so that its state is near. */
export class Gaussian extends Random {
  /** The present number; 0 before the first. */
  value = 0;
  private readonly most: number;

  /**
   * @param seeds four 32-bit numbers.
   * @param most the largest magnitude it gives, from {@link TAIL_START} on; what lies beyond is
   *   brought back to it.
   */
  constructor(seeds: Uint32Array, most = Number.POSITIVE_INFINITY) {
    super(seeds);
    this.most = most;
  }

  /**
   * Moves on to the next number of the stream; beyond 9.9 none ever comes. It is left in a field, since V8
   * boxes what a call that it does not inline takes and gives.
   */
  next(): void {
    const bits = this.bits();
    const layer = bits & 255;
    // The half makes the 2^24 places symmetrical about 0.
    const x = ((bits >> 8) + 0.5) * (SCALES[layer] as number);
    this.value = x;
    if (!(Math.abs(x) < (EDGES[layer + 1] as number))) this.goOutside(layer);
  }

  /** Settles a point beside the rectangle that lies wholly under the bell: one in a hundred. */
  private goOutside(layer: number): void {
    const x = this.value;
    if (layer === 0) {
      const far = this.tail();
      this.value = x < 0 ? -far : far;
      return;
    }
    const low = HEIGHTS[layer] as number;
    const high = HEIGHTS[layer + 1] as number;
    if (!(low + (high - low) * this.uniform() < bell(x))) this.next();
  }

  /** A number from the tail beyond TAIL_START. Source: Marsaglia, Technometrics 6 (1964) 101. */
  private tail(): number {
    for (;;) {
      const x = -log(this.uniform()) / TAIL_START;
      const y = -log(this.uniform());
      if (2 * y > x * x) return Math.min(TAIL_START + x, this.most);
    }
  }
}

/** The bell curve, its top at 1. */
function bell(x: number): number {
  return exp(-0.5 * x * x);
}

/** The half widths of the layers: see the file's head. */
export function layerEdges(): Float64Array {
  const table = new Float64Array(LAYERS + 1);
  // The base layer holds the tail too; as a rectangle of the same area it would be this wide.
  table[0] = LAYER_AREA / bell(TAIL_START);
  table[1] = TAIL_START;
  for (let layer = 2; layer < LAYERS; layer++) {
    const below = table[layer - 1] as number;
    table[layer] = Math.sqrt(-2 * log(bell(below) + LAYER_AREA / below));
  }
  return table;
}
