/**
 * Generator of 32-bit random numbers for audio-rate noise: xoshiro128++, period 2^128 - 1.
 *
 * Source: Blackman & Vigna, "Scrambled linear pseudorandom number generators", ACM Trans. Math.
 * Software 47 (2021) 36 (from memory; checked against the reference program's first outputs).
 */

const TWO_TO_MINUS_32 = 2.3283064365386963e-10;

export class Random {
  private s0: number;
  private s1: number;
  private s2: number;
  private s3: number;

  /** @param seeds four 32-bit numbers; all zero, the one state it cannot leave, becomes another. */
  constructor(seeds: Uint32Array) {
    const [a = 0, b = 0, c = 0, d = 0] = seeds;
    this.s0 = a | 0;
    this.s1 = b | 0;
    this.s2 = c | 0;
    this.s3 = (a | b | c | d) === 0 ? 1 : d | 0;
  }

  /** Returns the next 32 random bits as a signed integer. */
  bits(): number {
    const s0 = this.s0;
    const s1 = this.s1;
    const s2 = this.s2 ^ s0;
    const s3 = this.s3 ^ s1;
    const sum = (s0 + this.s3) | 0;
    this.s0 = s0 ^ s3;
    this.s1 = s1 ^ s2;
    this.s2 = s2 ^ (s1 << 9);
    this.s3 = (s3 << 11) | (s3 >>> 21);
    return (((sum << 7) | (sum >>> 25)) + s0) | 0;
  }

  /** Returns a number between 0 and 1, never either of them. */
  uniform(): number {
    return ((this.bits() >>> 0) + 0.5) * TWO_TO_MINUS_32;
  }
}
