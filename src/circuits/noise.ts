/** White noise: see src/modules/noise.ts. (Pink and red are not in this prototype.) */
import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { Wire } from './core/wire';
import { EDGES, Gaussian, SCALES } from './dsp/random';

const RAIL_VOLTS: f64 = 12;

export class WhiteNoise extends Circuit {
  private readonly white: Wire;
  private readonly level: f64;
  private readonly gaussian: Gaussian;

  constructor(white: Wire, level: f64, a: i32, b: i32, c: i32, d: i32) {
    super();
    this.white = white;
    this.level = level;
    this.gaussian = new Gaussian(a, b, c, d, RAIL_VOLTS / level);
    this.drives(white);
  }

  process(from: i32, to: i32): void {
    const out = this.white.volts;
    const gain = this.white.gain;
    const level = this.level;
    const gaussian = this.gaussian;
    const edges = EDGES;
    const scales = SCALES;
    // The generator's four words as locals; see Random.bits.
    let a = gaussian.s0;
    let b = gaussian.s1;
    let c = gaussian.s2;
    let d = gaussian.s3;
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
        gaussian.s0 = a;
        gaussian.s1 = b;
        gaussian.s2 = c;
        gaussian.s3 = d;
        gaussian.value = x;
        gaussian.goOutside(layer);
        x = gaussian.value;
        a = gaussian.s0;
        b = gaussian.s1;
        c = gaussian.s2;
        d = gaussian.s3;
      }
      out[i] = level * x * gain;
    }
    gaussian.s0 = a;
    gaussian.s1 = b;
    gaussian.s2 = c;
    gaussian.s3 = d;
  }
}

export function whiteNoise(
  scheduler: Scheduler,
  white: Wire,
  level: f64,
  a: i32,
  b: i32,
  c: i32,
  d: i32,
): void {
  scheduler.add(new WhiteNoise(white, level, a, b, c, d));
}
