/** Fourier transform for tests: radix two, in place, with Math.cos and Math.sin. */

/**
 * Computes the power in each bin of a real frame, |X|^2/N.
 * @param frame N samples, N a power of two, 2 or more.
 * @returns bins 0 to N/2.
 */
export function powerSpectrum(frame: ArrayLike<number>): Float64Array {
  const n = frame.length;
  const half = n / 2;
  // Even samples as real parts and odd ones as imaginary: a transform of half the length, and both taken apart.
  const re = new Float64Array(half);
  const im = new Float64Array(half);
  for (let i = 0; i < half; i++) {
    re[i] = frame[2 * i] as number;
    im[i] = frame[2 * i + 1] as number;
  }
  const { cos, sin } = turnsOf(n);
  transform(re, im, cos, sin);
  const power = new Float64Array(half + 1);
  for (let k = 0; k <= half; k++) {
    const [a, b] = [k % half, (half - k) % half];
    const [evenRe, evenIm] = [sum(re, a, b) / 2, difference(im, a, b) / 2];
    const [oddRe, oddIm] = [sum(im, a, b) / 2, -difference(re, a, b) / 2];
    const [c, s] = k === half ? [-1, 0] : [cos[k] as number, sin[k] as number];
    const x = evenRe + oddRe * c + oddIm * s;
    const y = evenIm + oddIm * c - oddRe * s;
    power[k] = (x * x + y * y) / n;
  }
  return power;
}

const sum = (list: Float64Array, a: number, b: number): number =>
  (list[a] as number) + (list[b] as number);
const difference = (list: Float64Array, a: number, b: number): number =>
  (list[a] as number) - (list[b] as number);

/** In place. The turns are those of twice the length. */
function transform(re: Float64Array, im: Float64Array, cos: Float64Array, sin: Float64Array): void {
  const n = re.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i >= j) continue;
    const [heldRe, heldIm] = [re[i] as number, im[i] as number];
    re[i] = re[j] as number;
    im[i] = im[j] as number;
    re[j] = heldRe;
    im[j] = heldIm;
  }
  for (let size = 2; size <= n; size *= 2) {
    const half = size / 2;
    const stride = (2 * n) / size;
    for (let start = 0; start < n; start += size) {
      for (let k = 0; k < half; k++) {
        const a = start + k;
        const b = a + half;
        const c = cos[k * stride] as number;
        const s = sin[k * stride] as number;
        const x = (re[b] as number) * c + (im[b] as number) * s;
        const y = (im[b] as number) * c - (re[b] as number) * s;
        re[b] = (re[a] as number) - x;
        im[b] = (im[a] as number) - y;
        re[a] = (re[a] as number) + x;
        im[a] = (im[a] as number) + y;
      }
    }
  }
}

/** Samples after which a turning pointer is set again: its rounding grows by a last bit with each. */
const TURNS = 64;

/**
 * The Fourier sum of a response at one frequency, squared: its power gain.
 * @param share the frequency over the sample rate.
 */
export function powerAt(response: ArrayLike<number>, share: number): number {
  const [turnRe, turnIm] = [Math.cos(2 * Math.PI * share), Math.sin(2 * Math.PI * share)];
  let [re, im] = [0, 0];
  for (let from = 0; from < response.length; from += TURNS) {
    let c = Math.cos(2 * Math.PI * share * from);
    let s = Math.sin(2 * Math.PI * share * from);
    const to = Math.min(response.length, from + TURNS);
    for (let n = from; n < to; n++) {
      const value = response[n] as number;
      re += value * c;
      im += value * s;
      const next = c * turnRe - s * turnIm;
      s = s * turnRe + c * turnIm;
      c = next;
    }
  }
  return re * re + im * im;
}

const turns = new Map<number, { readonly cos: Float64Array; readonly sin: Float64Array }>();

/** Cosines and sines of half a turn in steps of `1/n` turn, made once. */
function turnsOf(n: number): { readonly cos: Float64Array; readonly sin: Float64Array } {
  const of = (wave: (angle: number) => number): Float64Array =>
    new Float64Array(n / 2).map((_, k) => wave((2 * Math.PI * k) / n));
  const made = turns.get(n) ?? { cos: of(Math.cos), sin: of(Math.sin) };
  turns.set(n, made);
  return made;
}

/**
 * Averages the power spectra of frames that follow each other without overlap or window.
 * @param size frame length, a power of two; a last part of a frame is left out.
 */
export function averageSpectrum(samples: Float64Array, size: number): Float64Array {
  const frames = Math.floor(samples.length / size);
  const sum = new Float64Array(size / 2 + 1);
  for (let frame = 0; frame < frames; frame++) {
    const power = powerSpectrum(samples.subarray(frame * size, (frame + 1) * size));
    for (let k = 0; k < sum.length; k++) sum[k] = (sum[k] as number) + (power[k] as number);
  }
  return sum.map((value) => value / frames);
}
