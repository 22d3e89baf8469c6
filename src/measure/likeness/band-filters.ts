/**
 * Third octaves as the standard means them: filters, Butterworth band-passes of the sixth order.
 *
 * Source: midbands and edges as in IEC 61260-1:2014 (from memory; `spectrum/bands.ts`). The filter is the
 * textbook one: the poles p of a low-pass of the third order, on the unit circle, become the
 * roots s of s^2 - p w s + c^2 = 0, where w is the band's width and c^2 the product of its edges; the bilinear
 * transform z = (1 + s/2) / (1 - s/2) keeps the edges where they are bent before (Oppenheim & Schafer,
 * Discrete-Time Signal Processing, from memory). They meet the limits of class 1, but for bands over a sixth of the
 * sample rate, whose lower skirts are too shallow: by 0.7 dB at 10 kHz and 1.3 dB at 12.5 kHz, of 44.1 kHz.
 */

import { bandEdges } from '../spectrum/bands.ts';

/** Poles of a low-pass of the third order; the complex ones come in pairs. */
const POLES = [
  [-1, 0],
  [-0.5, Math.sqrt(0.75)],
] as const;

/**
 * The coefficients of a band's filter: g, a11, a12, a21, a22, a31 and a32 of
 *
 *   u = g x - g x'' - a11 u' - a12 u''     v = u - u'' - a21 v' - a22 v''     y = v - v'' - a31 y' - a32 y''
 *
 * @param x which band, 0 being that at 1 kHz.
 * @param sampleRate Hz, over twice the band's upper edge.
 */
export function bandCoefficients(x: number, sampleRate: number): readonly number[] {
  const [low, high] = bandEdges(x).map((hz) => 2 * Math.tan((Math.PI * hz) / sampleRate)) as [
    number,
    number,
  ];
  const centre = Math.sqrt(low * high);
  const turn = 2 * Math.atan(centre / 2);
  let gain = 1;
  const poles = POLES.flatMap(([re, im]) =>
    rootsOf([re * (high - low), im * (high - low)], low * high, im === 0),
  ).flatMap((s) => {
    const [re, im] = bilinear(s);
    const [a1, a2] = [-2 * re, re * re + im * im];
    // One at the centre: |1 - e^-2jt| over |1 + a1 e^-jt + a2 e^-2jt|.
    const below = Math.hypot(
      1 + a1 * Math.cos(turn) + a2 * Math.cos(2 * turn),
      a1 * Math.sin(turn) + a2 * Math.sin(2 * turn),
    );
    gain *= below / (2 * Math.abs(Math.sin(turn)));
    return [a1, a2];
  });
  return [gain, ...poles];
}

/** How late the filter of a band answers, s: the group delay in its middle. */
export function bandDelay(x: number): number {
  const [low, high] = bandEdges(x);
  return 2 / (Math.PI * (high - low));
}

/** The roots s of s^2 - p s + c = 0 that lie in the upper half plane. */
function rootsOf(
  [re, im]: readonly [number, number],
  c: number,
  isReal: boolean,
): readonly (readonly [number, number])[] {
  const [a, b] = [re * re - im * im - 4 * c, 2 * re * im];
  const size = Math.sqrt(Math.hypot(a, b));
  const half = Math.atan2(b, a) / 2;
  const [rootRe, rootIm] = [size * Math.cos(half), size * Math.sin(half)];
  const one = [(re + rootRe) / 2, Math.abs(im + rootIm) / 2] as const;
  const other = [(re - rootRe) / 2, Math.abs(im - rootIm) / 2] as const;
  return isReal ? [one] : [one, other];
}

function bilinear([re, im]: readonly [number, number]): readonly [number, number] {
  const [a, b, c, d] = [1 + re / 2, im / 2, 1 - re / 2, -im / 2];
  const size = c * c + d * d;
  return [(a * c + b * d) / size, (b * c - a * d) / size];
}
