/**
 * Third-octave band levels.
 *
 * Source: IEC 61260-1:2014, octave ratio to the base ten G = 10^(3/10), reference frequency 1000 Hz:
 * exact midband 1000 G^(x/3) = 1000 x 10^(x/10) Hz, band edges midband x 10^(-+1/20) (from memory).
 * Deviation: the bands are cut from the spectrum with straight edges, which no filter of the standard
 * has. For broadband sound the two agree; a tone just outside an edge is left out here.
 */

import { powerBetween, type Strips } from './spectrum.ts';

export interface Band {
  /** The name printed on meters: 31.5, 1000, ... Hz. */
  readonly nominalHz: number;
  /** Exact midband frequency, Hz. */
  readonly hz: number;
  /** Level, dB; null for a band that holds nothing. */
  readonly db: number | null;
}

/** 25 Hz is x = -16, 20 kHz is x = 13. */
const FIRST = -16;
const LAST = 13;
/** IEC 61260-1, annex E (from memory): the preferred numbers of one decade. */
const NOMINAL = [1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8];

/** Exact midband frequency of band `x`, Hz; band 0 is at 1 kHz, three to an octave. */
export function midbandHz(x: number): number {
  return 1000 * 10 ** (x / 10);
}

/** Lower and upper edge of band `x`, Hz. */
export function bandEdges(x: number): readonly [lower: number, upper: number] {
  return [1000 * 10 ** (x / 10 - 0.05), 1000 * 10 ** (x / 10 + 0.05)];
}

/**
 * Gives the levels of the bands from 25 Hz to 20 kHz that lie wholly below half the sample rate.
 * @param strips a spectrum; its last edge is half the sample rate.
 * @param reference the power that reads 0 dB.
 */
export function thirdOctaves(strips: Strips, reference: number): Band[] {
  const nyquist = strips.edges[strips.edges.length - 1] as number;
  const bands: Band[] = [];
  for (let x = FIRST; x <= LAST; x++) {
    const [lower, upper] = bandEdges(x);
    if (upper > nyquist) break;
    const power = powerBetween(strips, lower, upper);
    bands.push({
      nominalHz: nominalHz(x),
      hz: midbandHz(x),
      db: power > 0 && reference > 0 ? 10 * Math.log10(power / reference) : null,
    });
  }
  return bands;
}

/** The name that meters print for band `x`, Hz: 31.5, 1000, ... */
export function nominalHz(x: number): number {
  const decade = Math.floor(x / 10);
  const step = NOMINAL[x - decade * 10] as number;
  // 31.5 and the like must not come out as 31.499999.
  return Number((step * 10 ** (decade + 3)).toPrecision(3));
}
