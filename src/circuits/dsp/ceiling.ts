/** Low-pass sections one behind the other, whose poles are all that they say: b (1 + 1/z)^2/(1 + a1/z + a2/z^2). */
export class Ceiling {
  private readonly b: StaticArray<f64>;
  private readonly a1: StaticArray<f64>;
  private readonly a2: StaticArray<f64>;
  private readonly s1: StaticArray<f64>;
  private readonly s2: StaticArray<f64>;

  constructor(sections: i32) {
    this.b = new StaticArray<f64>(sections);
    this.a1 = new StaticArray<f64>(sections);
    this.a2 = new StaticArray<f64>(sections);
    this.s1 = new StaticArray<f64>(sections);
    this.s2 = new StaticArray<f64>(sections);
  }

  setSection(k: i32, b: f64, a1: f64, a2: f64): void {
    this.b[k] = b;
    this.a1[k] = a1;
    this.a2[k] = a2;
  }

  /** Puts `from` up to `to` of one list, without what is above, into another. */
  run(input: StaticArray<f64>, out: StaticArray<f64>, from: i32, to: i32): void {
    for (let i = from; i < to; i++) out[i] = input[i];
    for (let k = 0; k < this.b.length; k++) {
      const b = this.b[k];
      const a1 = this.a1[k];
      const a2 = this.a2[k];
      let s1 = this.s1[k];
      let s2 = this.s2[k];
      for (let i = from; i < to; i++) {
        const x = b * out[i];
        const y = x + s1;
        s1 = 2 * x - a1 * y + s2;
        s2 = x - a2 * y;
        out[i] = y;
      }
      this.s1[k] = s1;
      this.s2[k] = s2;
    }
  }
}
