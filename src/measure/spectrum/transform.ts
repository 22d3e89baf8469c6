/**
 * Fourier transforms of real samples. Tables are made once a size and shared.
 *
 * N real samples are transformed as N/2 complex ones, the even samples being the real parts and the
 * odd the imaginary: of the result come E, the spectrum of the even, and O, of the odd, and
 * X[k] = E[k] + W^k O[k], X[N/2 - k] = conj(E[k] - W^k O[k]), W = exp(-2 pi i/N). Source: Oppenheim &
 * Schafer, Discrete-Time Signal Processing, transforms of real sequences (from memory).
 */

import FFT from 'fft.js';

/** A transform of complex numbers, their real and imaginary parts in turn. */
interface ComplexTransform {
  transform(out: Float64Array, data: Float64Array): void;
}

interface Tables {
  /** For half as many complex numbers. */
  readonly half: ComplexTransform;
  /** W^k, its real and imaginary part in turn, k = 0 ... N/2 - 1. */
  readonly turns: Float64Array;
}

const known = new Map<number, Tables>();

/** @param size N, a power of two from 4. */
export function tablesOf(size: number): Tables {
  const found = known.get(size);
  if (found !== undefined) return found;
  const turns = Float64Array.from({ length: size }, (_, n) => {
    const angle = (-2 * Math.PI * (n >> 1)) / size;
    return n % 2 === 0 ? Math.cos(angle) : Math.sin(angle);
  });
  const made = { half: new FFT(size / 2), turns };
  known.set(size, made);
  return made;
}

export class RealTransform {
  /** The spectrum of what was last transformed, k = 0 ... N/2. */
  readonly re: Float64Array;
  readonly im: Float64Array;

  private readonly tables: Tables;
  private readonly packed: Float64Array;

  /** @param size N, a power of two from 4. */
  constructor(size: number) {
    this.tables = tablesOf(size);
    this.re = new Float64Array(size / 2 + 1);
    this.im = new Float64Array(size / 2 + 1);
    this.packed = new Float64Array(size);
  }

  /** Transforms N samples, leaving the spectrum in `re` and `im`. */
  run(samples: Float64Array): void {
    const { re, im, packed } = this;
    const { half, turns } = this.tables;
    half.transform(packed, samples);
    const last = re.length - 1;
    const even0 = packed[0] as number;
    const odd0 = packed[1] as number;
    re[0] = even0 + odd0;
    im[0] = 0;
    re[last] = even0 - odd0;
    im[last] = 0;
    for (let k = 1, j = last - 1; k <= j; k++, j--) {
      const kRe = packed[2 * k] as number;
      const kIm = packed[2 * k + 1] as number;
      const jRe = packed[2 * j] as number;
      const jIm = packed[2 * j + 1] as number;
      const evenRe = 0.5 * (kRe + jRe);
      const evenIm = 0.5 * (kIm - jIm);
      const oddRe = 0.5 * (kIm + jIm);
      const oddIm = 0.5 * (jRe - kRe);
      const cos = turns[2 * k] as number;
      const sin = turns[2 * k + 1] as number;
      const turnedRe = oddRe * cos - oddIm * sin;
      const turnedIm = oddRe * sin + oddIm * cos;
      re[j] = evenRe - turnedRe;
      im[j] = turnedIm - evenIm;
      re[k] = evenRe + turnedRe;
      im[k] = evenIm + turnedIm;
    }
  }
}
