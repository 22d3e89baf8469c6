/** The half-band filters of src/circuits/dsp/half-band.ts, one number at a time. */

const NOTHING = 1e-15;

/** All-pass sections (c + 1/z)/(1 + c/z), one after the other. */
class Chain {
  private readonly coefficients: readonly number[];
  /** What came into each section one sample ago and, last, what came out. */
  private readonly before: number[];

  constructor(coefficients: readonly number[]) {
    this.coefficients = coefficients;
    this.before = [0, ...coefficients.map(() => 0)];
  }

  run(input: number): number {
    const now = [input];
    this.coefficients.forEach((c, k) => {
      const [x, x1, y1] = [now[k], this.before[k], this.before[k + 1]] as [number, number, number];
      now.push(c * x + (x1 - c * y1));
    });
    now.forEach((value, k) => {
      this.before[k] = value;
    });
    return now.at(-1) as number;
  }

  settle(): void {
    this.before.forEach((value, k) => {
      if (Math.abs(value) < NOTHING) this.before[k] = 0;
    });
  }
}

export class HalfBand {
  private readonly even: Chain;
  private readonly odd: Chain;

  constructor(even: readonly number[], odd: readonly number[]) {
    this.even = new Chain(even);
    this.odd = new Chain(odd);
  }

  static steep(): HalfBand {
    return new HalfBand(
      [0.037365116712056175, 0.2813460114038552, 0.5844611708405284, 0.8345820435003801],
      [0.1393618247993496, 0.4362618268483417, 0.7170654296993825, 0.9443040688885815],
    );
  }

  static wide(): HalfBand {
    return new HalfBand([0.06637482650008861, 0.6751236108971171], [0.2742086047937511]);
  }

  static widest(): HalfBand {
    return new HalfBand([0.11120975985690679], [0.5384564498142802]);
  }

  static cleanSteep(): HalfBand {
    return new HalfBand(
      [
        0.02469032639963724, 0.19697570325265604, 0.4435834461534296, 0.6747282510714446,
        0.8662702966371447,
      ],
      [
        0.09426605523338588, 0.3179626422227762, 0.5641515845268678, 0.7745929032420688,
        0.9547653170485748,
      ],
    );
  }

  static cleanWide(): HalfBand {
    return new HalfBand(
      [0.040029398175343824, 0.38124956271821137],
      [0.16276072472692182, 0.737696380759489],
    );
  }

  /** Makes two samples of one, the earlier first. */
  double(x: number): [number, number] {
    return [this.even.run(x), this.odd.run(x)];
  }

  /** Makes one sample, twice as large, of two. */
  halve(first: number, second: number): number {
    return this.even.run(second) + this.odd.run(first);
  }

  settle(): void {
    this.even.settle();
    this.odd.settle();
  }
}
