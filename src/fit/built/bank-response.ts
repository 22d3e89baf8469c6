/**
 * The power of a noise in each third octave after a filter and a fixed bank of filters.
 *
 *   power in band b = integral over b of |sum over c of level c x H_c(f)|^2 |F(f)|^2 D(f) df
 *
 * H_c as src/modules/fixed-bank.ts has it: bands add up with their phases, and their skirts reach far. F is
 * an output of src/modules/filter.ts at its flat q; D is the noise's density, 1 at 1 kHz: even for white
 * noise, falling by 3 and 6 dB an octave for pink and red.
 */

import type { Colour } from '../../measure/dials/noise-colour.ts';
import { FIRST_BAND } from '../../measure/likeness/band-frames.ts';
import { bandEdges, midbandHz } from '../../measure/spectrum/bands.ts';

/** The output of the filter ahead of the bank; null without a filter. */
export type FilterSide = 'low' | 'high' | null;

/** Power of the density at a frequency in kHz: 1/f^n. */
const SLOPES: { readonly [colour in Colour]: number } = { white: 0, pink: -1, red: -2 };
/** The number of frequencies that represent a band. */
const POINTS = 3;
/** Width of a band over its midband, between its -3 dB points. */
const WIDTH = 10 ** 0.05 - 10 ** -0.05;

interface BankPoint {
  readonly band: number;
  readonly hz: number;
  /** df. */
  readonly width: number;
  /** H of every band there. */
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/** Powers for some levels, with the means to work out how they change with the levels. */
export interface BankPowers {
  readonly byBand: Float64Array;
  /**
   * The gradient of something that changes by `pull` with each band's power.
   * @returns by the logarithm of each level, and by that of the cutoff.
   */
  readonly gradient: (pull: Float64Array) => {
    readonly levels: Float64Array;
    readonly cutoff: number;
  };
}

export class BankResponse {
  readonly bands: number;
  private readonly points: readonly BankPoint[];

  /** @param bands how many, from 50 Hz up. */
  constructor(bands: number) {
    this.bands = bands;
    this.points = Array.from({ length: bands * POINTS }, (_, index) => {
      const band = Math.floor(index / POINTS);
      const [low, high] = bandEdges(FIRST_BAND + band);
      const hz = low * (high / low) ** (((index % POINTS) + 0.5) / POINTS);
      const re = new Float64Array(bands);
      const im = new Float64Array(bands);
      for (let c = 0; c < bands; c++) {
        const u = hz / midbandHz(FIRST_BAND + c);
        const [rest, turn] = [1 - u * u, u * WIDTH];
        const size = rest * rest + turn * turn;
        re[c] = (turn * turn) / size;
        im[c] = (rest * turn) / size;
      }
      return { band, hz, width: (hz * Math.log(high / low)) / POINTS, re, im };
    });
  }

  /** @param levels of the bands, by their amplitude. */
  powers(levels: Float64Array, colour: Colour, side: FilterSide, cutoffHz: number): BankPowers {
    const { points, bands } = this;
    const byBand = new Float64Array(bands);
    const seen = points.map(({ band, hz, width, re, im }) => {
      const weight = width * (hz / 1000) ** SLOPES[colour] * sidePower(side, hz / cutoffHz);
      let a = 0;
      let b = 0;
      for (let c = 0; c < bands; c++) {
        a += (levels[c] as number) * (re[c] as number);
        b += (levels[c] as number) * (im[c] as number);
      }
      byBand[band] = (byBand[band] as number) + weight * (a * a + b * b);
      return { a, b, weight };
    });
    const gradient = (pull: Float64Array) => {
      const own = new Float64Array(bands);
      let cutoff = 0;
      points.forEach(({ band, hz, re, im }, index) => {
        const { a, b, weight } = seen[index] as (typeof seen)[number];
        const share = 2 * weight * (pull[band] as number);
        for (let c = 0; c < bands; c++)
          own[c] = (own[c] as number) + share * (a * (re[c] as number) + b * (im[c] as number));
        cutoff += (share / 2) * (a * a + b * b) * sideSlope(side, hz / cutoffHz);
      });
      return { levels: own.map((one, c) => one * (levels[c] as number)), cutoff };
    };
    return { byBand, gradient };
  }

  /** The level of one band at which it alone would have a power of 1 within its edges. */
  levelAt(band: number, colour: Colour, side: FilterSide, cutoffHz: number): number {
    let power = 0;
    for (const point of this.points) {
      if (point.band !== band) continue;
      const { hz, width, re, im } = point;
      const own = (re[band] as number) ** 2 + (im[band] as number) ** 2;
      power += own * width * (hz / 1000) ** SLOPES[colour] * sidePower(side, hz / cutoffHz);
    }
    return 1 / Math.sqrt(power);
  }
}

/** |F|^2 of a flat filter of the second order, at a frequency over its cutoff. */
export function sidePower(side: FilterSide, u: number): number {
  if (side === null) return 1;
  return (side === 'high' ? u ** 4 : 1) / (1 + u ** 4);
}

/** The derivative of the logarithm of that by the logarithm of the cutoff. */
export function sideSlope(side: FilterSide, u: number): number {
  if (side === null) return 0;
  return side === 'high' ? -4 / (1 + u ** 4) : (4 * u ** 4) / (1 + u ** 4);
}
