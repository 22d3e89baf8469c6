/** Mixer: see src/modules/mixer.ts. Inputs without a plug at the end are left out. */
import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { pairAt, putPair, rails } from './dsp/pair';
import { toRails } from './dsp/rails';

export class Mixer extends Circuit {
  private readonly out: Wire;
  private readonly volts: Array<StaticArray<f64>> = [];
  private readonly levels: StaticArray<f64> = new StaticArray<f64>(8);
  /** Inputs up to the last with a plug. */
  private used: i32 = 0;

  constructor(out: Wire) {
    super();
    this.out = out;
    this.drives(out);
  }

  /** Adds an input, to be called for each in turn. */
  plug(input: Wire, level: f64, plugged: bool): void {
    const k = this.inputs.length;
    this.volts.push(this.reads(input));
    this.levels[k] = level;
    if (plugged) this.used = k + 1;
  }

  process(from: i32, to: i32): void {
    if (this.used <= 2) this.mixTwo(from, to);
    else if (this.used <= 4) this.mixFour(from, to);
    else this.mixEight(from, to);
  }

  tick(i: i32): void {
    let volts = this.part(0, i) + this.part(1, i);
    if (this.used > 2) volts += this.part(2, i) + this.part(3, i);
    if (this.used > 4)
      volts += this.part(4, i) + this.part(5, i) + (this.part(6, i) + this.part(7, i));
    this.out.volts[i] = toRails(volts) * this.out.gain;
  }

  private part(k: i32, i: i32): f64 {
    return this.levels[k] * this.volts[k][i];
  }

  private mixTwo(from: i32, to: i32): void {
    const out = this.out.volts;
    const weight = this.out.gain;
    const a = this.volts[0];
    const b = this.volts[1];
    const la = this.levels[0];
    const lb = this.levels[1];
    let i = from;
    for (; i + 1 < to; i += 2)
      putPair(
        out,
        i,
        f64x2.mul(rails(f64x2.add(times(la, a, i), times(lb, b, i))), f64x2.splat(weight)),
      );
    for (; i < to; i++) out[i] = toRails(la * a[i] + lb * b[i]) * weight;
  }

  private mixFour(from: i32, to: i32): void {
    const out = this.out.volts;
    const weight = this.out.gain;
    const a = this.volts[0];
    const b = this.volts[1];
    const c = this.volts[2];
    const d = this.volts[3];
    const la = this.levels[0];
    const lb = this.levels[1];
    const lc = this.levels[2];
    const ld = this.levels[3];
    let i = from;
    for (; i + 1 < to; i += 2)
      putPair(
        out,
        i,
        f64x2.mul(
          rails(
            f64x2.add(
              f64x2.add(times(la, a, i), times(lb, b, i)),
              f64x2.add(times(lc, c, i), times(ld, d, i)),
            ),
          ),
          f64x2.splat(weight),
        ),
      );
    for (; i < to; i++) out[i] = toRails(la * a[i] + lb * b[i] + (lc * c[i] + ld * d[i])) * weight;
  }

  private mixEight(from: i32, to: i32): void {
    const out = this.out.volts;
    const weight = this.out.gain;
    const a = this.volts[0];
    const b = this.volts[1];
    const c = this.volts[2];
    const d = this.volts[3];
    const e = this.volts[4];
    const f = this.volts[5];
    const g = this.volts[6];
    const h = this.volts[7];
    const la = this.levels[0];
    const lb = this.levels[1];
    const lc = this.levels[2];
    const ld = this.levels[3];
    const le = this.levels[4];
    const lf = this.levels[5];
    const lg = this.levels[6];
    const lh = this.levels[7];
    let i = from;
    for (; i + 1 < to; i += 2) {
      const ad = f64x2.add(
        f64x2.add(times(la, a, i), times(lb, b, i)),
        f64x2.add(times(lc, c, i), times(ld, d, i)),
      );
      const eh = f64x2.add(
        f64x2.add(times(le, e, i), times(lf, f, i)),
        f64x2.add(times(lg, g, i), times(lh, h, i)),
      );
      putPair(out, i, f64x2.mul(rails(f64x2.add(ad, eh)), f64x2.splat(weight)));
    }
    for (; i < to; i++)
      out[i] =
        toRails(
          la * a[i] +
            lb * b[i] +
            (lc * c[i] + ld * d[i]) +
            (le * e[i] + lf * f[i] + (lg * g[i] + lh * h[i])),
        ) * weight;
  }

  rests(_samples: i32): bool {
    return true;
  }
}

function times(level: f64, volts: StaticArray<f64>, i: i32): v128 {
  return f64x2.mul(f64x2.splat(level), pairAt(volts, i));
}

export function mixerInput(mixer: Mixer, input: Wire, level: f64, plugged: bool): void {
  mixer.plug(input, level, plugged);
}
