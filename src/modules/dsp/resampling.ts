/**
 * The kernel by which a recording is read between its samples: a sine cardinal under Kaiser's window.
 *
 *   h(u) = sin(pi u)/(pi u) x I0(b sqrt(1 - (u/64)^2))/I0(b), u from -64 to 64, b = 10
 *
 * Reading the samples x at a place t with a cutoff c (1 is half the recording's rate) gives
 * y = c sum of x[n] h(c (t - n)). With c = 0.95 x the lower of both rates over the recording's own, all
 * is flat to 0.9 of half the lower rate, and what would fold or be mirrored is 100 dB down.
 *
 * Source: Smith & Gossett, "A flexible sampling-rate conversion method", Proc. ICASSP (1984) 19.4.1:
 * the table, and the straight line from one of its entries to the next. Kaiser's window and its widths:
 * Oppenheim & Schafer, Discrete-Time Signal Processing, 3rd ed., 7.5.3 (both from memory). 256 entries
 * between two zeros leave an error of pi^2/3/8/256^2: 104 dB down.
 */

import { sinTurns } from './math.ts';

/** Zeros on either side of the middle. */
const ZEROS = 64;
/** Entries between two zeros. */
const ENTRIES = 256;
const BETA = 10;

let made: Float64Array | undefined;

/** The kernel from its middle to its last zero, and one more 0 for the last straight line. */
export function resamplingKernel(): Float64Array {
  made ??= Float64Array.from({ length: ZEROS * ENTRIES + 2 }, (_, i) => valueAt(i / ENTRIES));
  return made;
}

function valueAt(u: number): number {
  if (u >= ZEROS) return 0;
  const x = u / ZEROS;
  const window = bessel(BETA * Math.sqrt(1 - x * x)) / bessel(BETA);
  return u === 0 ? 1 : (window * sinTurns(u / 2)) / (Math.PI * u);
}

/** Modified Bessel function of order 0: Abramowitz & Stegun 9.6.12 (from memory). */
function bessel(x: number): number {
  let sum = 1;
  for (let k = 1, term = 1; term > sum * 1e-17; k++) {
    term *= (x * x) / 4 / (k * k);
    sum += term;
  }
  return sum;
}
