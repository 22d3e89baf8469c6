import { describe, expect, it } from 'vitest';
import { Random } from '../../../src/modules/dsp/random.ts';
import { close } from '../../close.ts';

describe('Random', () => {
  it('gives the numbers of the published reference program (values from memory)', () => {
    // xoshiro128++ 1.0 by Blackman & Vigna, first outputs from the state 1, 2, 3, 4.
    const random = new Random(Uint32Array.of(1, 2, 3, 4));
    expect(Array.from({ length: 10 }, () => random.bits() >>> 0)).toEqual([
      641, 1573767, 3222811527, 3517856514, 836907274, 4247214768, 3867114732, 1355841295,
      495546011, 621204420,
    ]);
  });

  it('agrees with the published recurrence in whole-number arithmetic without limits', () => {
    const mask = 0xffff_ffffn;
    const rotate = (x: bigint, by: bigint): bigint => ((x << by) | (x >> (32n - by))) & mask;
    let [a, b, c, d] = [0xdead_beefn, 0xffff_ffffn, 0x8000_0000n, 7n];
    const random = new Random(Uint32Array.of(0xdeadbeef, 0xffffffff, 0x80000000, 7));
    for (let n = 0; n < 2000; n++) {
      expect(random.bits() >>> 0).toBe(Number((rotate((a + d) & mask, 7n) + a) & mask));
      const t = (b << 9n) & mask;
      c ^= a;
      d ^= b;
      b ^= c;
      a ^= d;
      c ^= t;
      d = rotate(d, 11n);
    }
  });

  it('does not stand still when all its seeds are 0', () => {
    const random = new Random(new Uint32Array(4));
    expect(new Set(Array.from({ length: 100 }, () => random.bits())).size).toBe(100);
  });

  it('gives uniform numbers strictly between 0 and 1, of mean 1/2 and variance 1/12', () => {
    const random = new Random(Uint32Array.of(5, 6, 7, 8));
    const count = 200_000;
    let sum = 0;
    let squares = 0;
    let outside = 0;
    for (let n = 0; n < count; n++) {
      const x = random.uniform();
      if (!(x > 0 && x < 1)) outside += 1;
      sum += x - 0.5;
      squares += (x - 0.5) * (x - 0.5);
    }
    expect(outside).toBe(0);
    // Abramowitz & Stegun 26.1.34 (from memory): variance 1/12; that of the square is 1/180.
    const why = '5 standard deviations';
    close(sum / count, 0, { abs: 5 / Math.sqrt(12 * count), unit: '1', why });
    close(squares / count, 1 / 12, { abs: 5 / Math.sqrt(180 * count), unit: '1', why });
  });
});
