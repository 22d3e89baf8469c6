/**
 * A soft clip that is a cubic: straight near 0, bending until it is flat at 1.5.
 *
 *   f(x) = x - 4 x^3/27 for |x| <= 1.5, beyond it 1 or -1; slope and value join there
 *
 * A sine of peak a <= 1.5 comes out as a fundamental a - a^3/9 and a third harmonic a^3/27, and
 * nothing else: sin^3 t = (3 sin t - sin 3t)/4 (Abramowitz & Stegun 4.3.27). So the describing
 * function of control theory, the fundamental's gain, is 1 - a^2/9 and shifts no phase.
 *
 * Source: common practice, no source. A differential pair's tanh begins with the same two powers.
 */

const CUBE = 4 / 27;
/** Where it is flat. */
const FLAT = 1.5;

/** What the clip takes away: x - f(x), x in units of the limit. */
export function clipped(x: number): number {
  if (x > FLAT) return x - 1;
  if (x < -FLAT) return x + 1;
  return CUBE * x * (x * x);
}
