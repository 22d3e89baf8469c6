/**
 * How far a render is from a recording: by how many dB the bands over time differ on average.
 *
 * Each band is averaged over stretches of time that grow with the time since the onset, and
 *
 *   difference = 10 log10((R + b) / (g S + n + b))
 *
 * with the recording's power R, the render's S, the gain g that brings the two to one level, the noise
 * n that the recording has without the hit, and b, what is no longer heard: 40 dB under the loudest,
 * and two times n. The distance is the mean of the magnitudes over all in which the recording is
 * heard; what the render adds elsewhere counts too. What differs from hit to hit, as narrow bands of
 * noise do, counts less. Means of magnitudes forgive what is odd in one place, which squares would
 * not. Chosen by trial, no source.
 */

import { smallest } from '../modules/dsp/extremes.ts';
import { FRAME, type HitPicture, type HitScope } from './picture.ts';

/** Under the loudest band, dB. */
const HEARD_DB = 40;
/** A stretch is this share of the time since the onset. */
const STRETCH = 0.12;
/** A band that is wrong counts no more than this, dB. */
const MOST_DB = 30;
/** A band that differs from hit to hit by this counts half. */
const SURE_DB = 0.5;
/** The render may set in so many frames early or late, since no onset is exact. */
export const LAGS = 2;
/** How the gain is found: it has settled by then. */
const ROUNDS = 8;
const MOST_GAIN = 1e3;

interface Cell {
  readonly band: number;
  /** Frames from the onset. */
  readonly from: number;
  readonly to: number;
  readonly power: number;
  readonly noise: number;
  /** Noise, and what is not heard. */
  readonly bottom: number;
  readonly weight: number;
  readonly isHeard: boolean;
}

export interface Distance {
  /** dB. */
  readonly db: number;
  /** What the render's power had to be multiplied by. */
  readonly gain: number;
}

/** A recording's hit, to compare with. */
export class Target {
  /** Frames from the onset that are compared. */
  readonly frames: number;
  private readonly cells: readonly Cell[];
  private readonly picture: HitPicture;
  private readonly floor: readonly number[];
  private readonly scope: HitScope;

  /**
   * @param picture of the recording, without lead.
   * @param floor power in each band where there is no hit; 0 for not known.
   * @param spreads by how many dB hits differ by themselves, by band.
   */
  constructor(
    picture: HitPicture,
    floor: readonly number[],
    scope: HitScope,
    spreads: readonly number[] = picture.spreads,
  ) {
    const cells = cellsOf(picture, floor, scope, spreads);
    const last = cells.reduce((most, { to, isHeard }) => (isHeard ? Math.max(most, to) : most), 0);
    // A little longer, so that a render that rings on is told from one that does not.
    this.frames = Math.min(picture.frames, Math.ceil(1.2 * last) + 1);
    this.cells = cells.filter(({ to }) => to <= this.frames);
    this.picture = picture;
    this.floor = floor;
    this.scope = scope;
  }

  /** The same, knowing how much the hits of a render differ, which tells more if there are few here. */
  knowing({ spreads }: HitPicture): Target {
    const { picture, floor, scope } = this;
    const larger = picture.spreads.map((own, band) => Math.max(own, spreads[band] as number));
    return new Target(picture, floor, scope, larger);
  }

  /** Length of the hit as it is compared, s. */
  get seconds(): number {
    return this.frames * FRAME;
  }

  /**
   * Compares a render.
   * @param render with a lead of {@link LAGS}, and as many frames more than `frames` at its end.
   * @param isLevelled whether the levels are made alike first.
   */
  distance(render: HitPicture, isLevelled: boolean): Distance {
    if (!(render.energy > 0)) return { db: MOST_DB, gain: 1 };
    if (!isLevelled) {
      const gain = render.energy / this.picture.energy;
      const all = this.lags().map((lag) => this.compared(render, lag, gain));
      return { db: smallest(all), gain };
    }
    const rough = this.gainAt(render, 0, 1);
    const best = this.lags().reduce(
      (least, lag) => {
        const db = this.compared(render, lag, rough);
        return db < least.db ? { lag, db } : least;
      },
      { lag: 0, db: Number.POSITIVE_INFINITY },
    );
    const gain = this.gainAt(render, best.lag, rough);
    const db = this.compared(render, best.lag, gain);
    return db < best.db ? { db, gain } : { db: best.db, gain: rough };
  }

  private lags(): number[] {
    return Array.from({ length: 2 * LAGS + 1 }, (_, index) => index - LAGS);
  }

  /** The gain at which as much weight is too loud as too quiet. */
  private gainAt(render: HitPicture, lag: number, first: number): number {
    let gain = first;
    const heard = this.cells.filter(({ isHeard }) => isHeard);
    for (let round = 0; round < ROUNDS; round++) {
      const differences = heard
        .flatMap((cell) => {
          const power = powerIn(render, cell, lag);
          return power === undefined
            ? []
            : [{ db: differenceOf(cell, gain * power), weight: cell.weight }];
        })
        .sort((a, b) => a.db - b.db);
      const step = 10 ** (median(differences) / 10);
      gain = Math.min(MOST_GAIN, Math.max(1 / MOST_GAIN, gain * step));
      if (Math.abs(step - 1) < 1e-4) break;
    }
    return gain;
  }

  private compared(render: HitPicture, lag: number, gain: number): number {
    let sum = 0;
    let whole = 0;
    for (const cell of this.cells) {
      const power = powerIn(render, cell, lag);
      if (power === undefined) continue;
      const magnitude = Math.min(MOST_DB, Math.abs(differenceOf(cell, gain * power)));
      sum += cell.weight * magnitude;
      if (cell.isHeard) whole += cell.weight;
    }
    return whole > 0 ? Math.min(MOST_DB, sum / whole) : MOST_DB;
  }
}

function differenceOf({ power, noise, bottom }: Cell, render: number): number {
  return 10 * Math.log10((power + bottom) / (render + noise + bottom));
}

/** Undefined where the render's hit is not heard alone. */
function powerIn(render: HitPicture, { band, from, to }: Cell, lag: number): number | undefined {
  const [first, last] = [from + render.lead + lag, to + render.lead + lag];
  if (last > (render.known[band] as number)) return undefined;
  const sums = render.sums[band] as Float64Array;
  return ((sums[last] as number) - (sums[first] as number)) / (to - from);
}

function cellsOf(
  { sums, shares, known, frames }: HitPicture,
  floor: readonly number[],
  { windows }: HitScope,
  spreads: readonly number[],
): readonly Cell[] {
  const stretches: [number, number][] = [];
  for (let from = 0, to = 1; to <= frames; from = to, to += Math.max(1, Math.round(STRETCH * to)))
    stretches.push([from, to]);
  const all = sums.flatMap((sum, band) =>
    stretches
      .filter(([, to]) => to <= (known[band] as number))
      .map(([from, to]) => {
        const share = shares[band] as Float64Array;
        let counted = 0;
        for (let k = from; k < to; k++) counted += share[k] as number;
        return {
          band,
          from,
          to,
          power: ((sum[to] as number) - (sum[from] as number)) / (to - from),
          noise: ((floor[band] as number) * counted) / (to - from),
        };
      }),
  );
  const loudest = all.reduce((most, { power }) => Math.max(most, power), 0);
  return all.map((cell) => {
    const bottom = loudest * 10 ** (-HEARD_DB / 10) + 2 * cell.noise;
    // Frames that overlap tell less than ones that do not.
    const span = ((cell.to - cell.from) * FRAME) / (windows[cell.band] as number);
    return {
      ...cell,
      bottom,
      weight: Math.sqrt(Math.min(1, span)) / (SURE_DB + (spreads[cell.band] as number)),
      isHeard: cell.power > bottom,
    };
  });
}

/** Of sorted differences, by weight; 0 for none. */
function median(sorted: readonly { readonly db: number; readonly weight: number }[]): number {
  const whole = sorted.reduce((sum, { weight }) => sum + weight, 0);
  let sum = 0;
  for (const { db, weight } of sorted) {
    sum += weight;
    if (sum >= whole / 2) return db;
  }
  return 0;
}
