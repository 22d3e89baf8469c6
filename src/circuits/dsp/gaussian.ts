/**
 * Gaussian noise of mean 0 and standard deviation 1, by the ziggurat method: the bell is cut into
 * 256 layers of equal area; a random point of a random layer lies under the bell 99 times in 100
 * with no further test. The result is exact, tails and all, to the resolution of the random bits.
 *
 * Source: Marsaglia & Tsang, "The ziggurat method for generating random variables", J. Statistical
 * Software 5 (2000) 8 (from memory). As Doornik (2005) advises, a layer's number and the place in
 * it come from different bits (from memory).
 */

import { exp, log } from './math';
import { Random } from './random';

const LAYERS: i32 = 256;
const TWO_TO_23: f64 = 8388608;
/** Where the tail begins. A test checks that with these two the layers close at the top. */
export const TAIL_START: f64 = 3.6541528853610088;
/** Area of each layer, the tail counting as one. */
export const LAYER_AREA: f64 = 0.00492867323399;

/** Half widths of the layers from the base up; one more, the top's, is 0. */
export const EDGES: StaticArray<f64> = layerEdges();
const HEIGHTS: StaticArray<f64> = heights();
/** From a signed 24-bit number to a place in the layer. */
const SCALES: StaticArray<f64> = scales();

/** A generator of bits that gives Gaussian numbers too: one object, so that its state lies together in memory. */
export class Gaussian extends Random {
  most: f64;
  /** The present number; 0 before the first. */
  value: f64 = 0;

  constructor(a: i32, b: i32, c: i32, d: i32, most: f64) {
    super(a, b, c, d);
    this.most = most;
  }

  next(): void {
    const bits = this.bits();
    const layer = bits & 255;
    const x = (f64(bits >> 8) + 0.5) * SCALES[layer];
    this.value = x;
    if (!(Math.abs(x) < EDGES[layer + 1])) this.goOutside(layer);
  }

  /** Puts the next numbers into a list, from `from` up to `to`, each times `level` and then `gain`. */
  fill(list: StaticArray<f64>, from: i32, to: i32, level: f64, gain: f64): void {
    const edges = EDGES;
    const scales = SCALES;
    // The generator's four words as locals; see Random.bits.
    let a = this.s0;
    let b = this.s1;
    let c = this.s2;
    let d = this.s3;
    for (let i = from; i < to; i++) {
      const t2 = c ^ a;
      const t3 = d ^ b;
      const sum = (a + d) | 0;
      const bits = (((sum << 7) | (sum >>> 25)) + a) | 0;
      a ^= t3;
      const t1 = b ^ t2;
      c = t2 ^ (b << 9);
      b = t1;
      d = (t3 << 11) | (t3 >>> 21);
      const layer = bits & 255;
      let x = (f64(bits >> 8) + 0.5) * scales[layer];
      if (!(Math.abs(x) < edges[layer + 1])) {
        this.s0 = a;
        this.s1 = b;
        this.s2 = c;
        this.s3 = d;
        this.value = x;
        this.goOutside(layer);
        x = this.value;
        a = this.s0;
        b = this.s1;
        c = this.s2;
        d = this.s3;
      }
      list[i] = level * x * gain;
    }
    this.s0 = a;
    this.s1 = b;
    this.s2 = c;
    this.s3 = d;
  }

  /** Decides about a point outside the rectangle that lies wholly under the bell: one in a hundred. */
  goOutside(layer: i32): void {
    const x = this.value;
    if (layer == 0) {
      const far = this.tail();
      this.value = x < 0 ? -far : far;
      return;
    }
    const low = HEIGHTS[layer];
    const high = HEIGHTS[layer + 1];
    if (!(low + (high - low) * this.uniform() < bell(x))) this.next();
  }

  /** A number from the tail beyond TAIL_START. Source: Marsaglia, Technometrics 6 (1964) 101. */
  private tail(): f64 {
    let x: f64;
    let y: f64;
    do {
      x = -log(this.uniform()) / TAIL_START;
      y = -log(this.uniform());
    } while (!(2 * y > x * x));
    return Math.min(TAIL_START + x, this.most);
  }
}

/** The bell curve, its top at 1. */
function bell(x: f64): f64 {
  return exp(-0.5 * x * x);
}

/** The half widths of the layers: see the file's head. */
function layerEdges(): StaticArray<f64> {
  const table = new StaticArray<f64>(LAYERS + 1);
  table[0] = LAYER_AREA / bell(TAIL_START);
  table[1] = TAIL_START;
  for (let layer: i32 = 2; layer < LAYERS; layer++) {
    const below = table[layer - 1];
    table[layer] = Math.sqrt(-2 * log(bell(below) + LAYER_AREA / below));
  }
  return table;
}

function heights(): StaticArray<f64> {
  const table = new StaticArray<f64>(LAYERS + 1);
  for (let layer: i32 = 1; layer <= LAYERS; layer++) table[layer] = bell(EDGES[layer]);
  return table;
}

function scales(): StaticArray<f64> {
  const table = new StaticArray<f64>(LAYERS + 1);
  for (let layer: i32 = 0; layer <= LAYERS; layer++) table[layer] = EDGES[layer] / TWO_TO_23;
  return table;
}
