/**
 * Windowed-sinc interpolation: the Kaiser window and the sinc function.
 * Source: J. F. Kaiser, Nonrecursive Digital Filter Design Using the I0-sinh Window Function, Proc.
 * IEEE Symp. Circuits and Systems (1974) 20-23 (from memory).
 */

/**
 * The Kaiser window.
 * @param x the place, -1 to 1 from end to end; 0 outside.
 * @param beta the shape: 0 is rectangular; 8 keeps the stop band 80 dB down.
 */
export function kaiser(x: number, beta: number): number {
  return Math.abs(x) > 1 ? 0 : bessel0(beta * Math.sqrt(1 - x * x)) / bessel0(beta);
}

/** sin(pi x)/(pi x); 1 at 0. */
export function sinc(x: number): number {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
}

/** The modified Bessel function I0, by its power series (Abramowitz & Stegun 9.6.12). */
function bessel0(x: number): number {
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-17; k++) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
}
