/** Ring modulator: see src/modules/ring.ts. */
import { Circuit } from './core/circuit';
import { BLOCK, Wire } from './core/wire';
import { SteepHalfBand } from './dsp/half-band';
import { toRails } from './dsp/rails';

/** V at one input for which the other comes through unchanged. */
const UNITY: f64 = 5;

export class Ring extends Circuit {
  private readonly a: StaticArray<f64>;
  private readonly b: StaticArray<f64>;
  private readonly out: Wire;
  private readonly left: SteepHalfBand = new SteepHalfBand();
  private readonly right: SteepHalfBand = new SteepHalfBand();
  private readonly product: SteepHalfBand = new SteepHalfBand();

  constructor(a: Wire, b: Wire, out: Wire) {
    super();
    this.a = a.volts;
    this.b = b.volts;
    this.out = out;
    this.reads(a);
    this.reads(b);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const a = this.a;
    const b = this.b;
    const out = this.out.volts;
    const weight = this.out.gain;
    const left = this.left;
    const right = this.right;
    const product = this.product;
    for (let i = from; i < to; i++) {
      const l = left.run(f64x2.splat(a[i]));
      const r = right.run(f64x2.splat(b[i]));
      const m = f64x2.mul(l, r);
      const p = product.run(v128.shuffle<f64>(m, m, 1, 0));
      out[i] =
        toRails((f64x2.extract_lane(p, 0) + f64x2.extract_lane(p, 1)) * (0.5 / UNITY)) * weight;
    }
  }

  rests(_samples: i32): bool {
    // Only two silent inputs: with two steady ones the output would approach its value without end.
    return (
      this.a[BLOCK - 1] == 0 &&
      this.b[BLOCK - 1] == 0 &&
      this.out.volts[BLOCK - 1] == 0 &&
      this.left.isStill &&
      this.right.isStill &&
      this.product.isStill
    );
  }

  settle(): void {
    this.left.settle();
    this.right.settle();
    this.product.settle();
  }
}
