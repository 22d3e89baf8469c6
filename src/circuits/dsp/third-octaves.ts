/**
 * Band-passes of the sixth order, two bands at a time: what `measure/likeness/band-bank` runs, compiled by itself. No
 * circuit uses it.
 *
 *   u = g x - g x'' - a11 u' - a12 u''     v = u - u'' - a21 v' - a22 v''     y = v - v'' - a31 y' - a32 y''
 */

/** Samples that are handed over at once. */
const ROOM: i32 = 4096;
/** Pairs of bands. */
const MOST: i32 = 16;
/** Values of a pair, each for both bands: seven coefficients, eight states, the sum of squares. */
const VALUES: i32 = 16;
/** Bytes of a pair, and up to the first state that is not just what came in. */
const EACH: i32 = 16 * VALUES;
const FIRST_RINGING: i32 = 16 * 9;

const samples = new StaticArray<f64>(ROOM);
const values = new StaticArray<f64>(2 * VALUES * MOST);

/** How many samples there is room for. */
export function room(): i32 {
  return ROOM;
}

/** Where samples go. */
export function samplesAt(): usize {
  return changetype<usize>(samples);
}

/** Where the values of pairs are, 32 for each: g, a11, a12, a21, a22, a31 and a32 of its two bands come first, the sums last. */
export function pairsAt(): usize {
  return changetype<usize>(values);
}

/** Runs the first `count` samples through the first `pairs` pairs, and adds the squares of what comes out to the sums. */
export function run(pairs: i32, count: i32): void {
  const from = changetype<usize>(samples);
  for (let pair: i32 = 0; pair < pairs; pair++) {
    const at = changetype<usize>(values) + pair * EACH;
    const gain = v128.load(at);
    const a11 = v128.load(at, 16);
    const a12 = v128.load(at, 32);
    const a21 = v128.load(at, 48);
    const a22 = v128.load(at, 64);
    const a31 = v128.load(at, 80);
    const a32 = v128.load(at, 96);
    let x1 = v128.load(at, 112);
    let x2 = v128.load(at, 128);
    let u1 = v128.load(at, 144);
    let u2 = v128.load(at, 160);
    let v1 = v128.load(at, 176);
    let v2 = v128.load(at, 192);
    let y1 = v128.load(at, 208);
    let y2 = v128.load(at, 224);
    let sum = v128.load(at, 240);
    for (let n: i32 = 0; n < count; n++) {
      const x = f64x2.mul(gain, v128.load64_splat(from + 8 * n));
      const u = second(f64x2.sub(x, x2), a11, u1, a12, u2);
      const v = second(f64x2.sub(u, u2), a21, v1, a22, v2);
      const y = second(f64x2.sub(v, v2), a31, y1, a32, y2);
      sum = f64x2.add(sum, f64x2.mul(y, y));
      x2 = x1;
      x1 = x;
      u2 = u1;
      u1 = u;
      v2 = v1;
      v1 = v;
      y2 = y1;
      y1 = y;
    }
    v128.store(at, x1, 112);
    v128.store(at, x2, 128);
    v128.store(at, u1, 144);
    v128.store(at, u2, 160);
    v128.store(at, v1, 176);
    v128.store(at, v2, 192);
    v128.store(at, y1, 208);
    v128.store(at, y2, 224);
    v128.store(at, sum, 240);
  }
}

function second(x: v128, a1: v128, s1: v128, a2: v128, s2: v128): v128 {
  return f64x2.sub(f64x2.sub(x, f64x2.mul(a1, s1)), f64x2.mul(a2, s2));
}

/** Silences what rings on for ever: numbers under 1e-308 would slow the processor down. A square that counts is over 1e-300. */
export function quieten(pairs: i32): void {
  const least = f64x2.splat(1e-200);
  for (let pair: i32 = 0; pair < pairs; pair++) {
    const at = changetype<usize>(values) + pair * EACH;
    let size = f64x2.splat(0);
    for (let k: i32 = FIRST_RINGING; k < EACH - 16; k += 16)
      size = f64x2.add(size, f64x2.abs(v128.load(at + k)));
    const rings = f64x2.ge(size, least);
    for (let k: i32 = FIRST_RINGING; k < EACH - 16; k += 16)
      v128.store(at + k, v128.and(v128.load(at + k), rings));
  }
}
