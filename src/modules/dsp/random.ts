/** The circuits' generator of random numbers, for what is drawn beside them. */

import { Random as Generator } from '../../circuits/dsp/random.ts';

export class Random extends Generator {
  /** @param seeds four 32-bit numbers. */
  constructor([a = 0, b = 0, c = 0, d = 0]: Uint32Array) {
    super(a, b, c, d);
  }
}
