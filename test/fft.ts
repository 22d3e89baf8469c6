/** Fourier transform for tests: radix two, in place, with Math.cos and Math.sin. */

/**
 * Computes the power in each bin of a real frame, |X|^2/N.
 * @param frame N samples, N a power of two.
 * @returns bins 0 to N/2.
 */
export function powerSpectrum(frame: ArrayLike<number>): Float64Array {
  const n = frame.length;
  const re = Float64Array.from(frame);
  const im = new Float64Array(n);
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i >= j) continue;
    const held = re[i] as number;
    re[i] = re[j] as number;
    re[j] = held;
  }
  const { cos, sin } = turnsOf(n);
  for (let size = 2; size <= n; size *= 2) {
    const half = size / 2;
    const stride = n / size;
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
  return new Float64Array(n / 2 + 1).map(
    (_, k) => ((re[k] as number) ** 2 + (im[k] as number) ** 2) / n,
  );
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
