/**
 * The kind of drum of a hit, as measured before anything is fitted: where its sound lies, how wide it is, how fast it
 * comes and goes, how much of it is a few partials, and how narrow its partials are.
 *
 * Two hits are compared figure by figure, each difference in units of how far a recorded drum and a patched voice
 * of its kind are apart in it (about the root mean square over fourteen hits that no bench ranks),
 * counted up to three: a drum that differs in one thing alone may still be of the kind. The distance is the root of the mean
 * of their squares, so that two of one kind usually have about 1.
 */

import { bandEdges } from '../spectrum/bands.ts';
import { bandDelay } from './band-filters.ts';
import { type BandFrames, FIRST_BAND, FRAME_SECONDS, type HitSound } from './band-frames.ts';
import type { HitLook } from './hit-look.ts';
import { startSpectrum } from './tonality.ts';

export interface DrumKind {
  /** Mean of its bands on a scale of octaves, by power, Hz. */
  readonly centreHz: number;
  /** Their standard deviation, octaves. */
  readonly widthOctaves: number;
  /** From the onset to the loudest 10 ms, s. */
  readonly riseSeconds: number;
  /** From there until the level is down by 10, 20 and 40 dB for good, s. */
  readonly down10Seconds: number;
  readonly down20Seconds: number;
  readonly down40Seconds: number;
  /** The part of its power that the three strongest partials have, 0 to 1. */
  readonly toneShare: number;
  /** How flat its spectrum is within third octaves, dB: some -2.5 for noise, less the more lightly damped it rings. */
  readonly flatnessDb: number;
}

/** The figures of a kind that follow from powers by band and time. */
export type BandFigures = Omit<DrumKind, 'toneShare' | 'flatnessDb'>;

/** One figure of two hits beside each other. */
export interface KindDifference {
  readonly figure: keyof DrumKind;
  readonly own: number;
  readonly other: number;
  /** In units of the usual difference of two of one kind; positive where the other's is larger. */
  readonly by: number;
}

export interface KindDistance {
  /** Two of one kind usually have about 1. */
  readonly distance: number;
  /** The largest first. */
  readonly differences: readonly KindDifference[];
}

/** From here on two hits are taken for different kinds of drum. */
export const OTHER_KIND = 1.5;

/** Half a frame, added to times so that 0 s has a logarithm. */
const HALF_FRAME = FRAME_SECONDS / 2;
/** A slower rise is not that of a stroke, s. */
const SLOWEST_RISE = 0.05;
/** The largest share of tone: more is rare, and all of a sound would give infinite odds. */
const MOST_SHARE = 0.97;
/** Partials that are taken for the tone, and how far each reaches: this share of its frequency, or so many Hz. */
const PARTIALS = 3;
const REACH = 0.02;
const LEAST_REACH_HZ = 10;
const HEARD_HZ = [30, 16_000] as const;
const MOST_BY = 3;

/** Each figure on a scale where equal steps mean the same, and how much two of a kind differ on it. */
const SCALES: { readonly [figure in keyof DrumKind]: readonly [(x: number) => number, number] } = {
  centreHz: [Math.log2, 0.95],
  widthOctaves: [(x) => x, 0.4],
  riseSeconds: [(x) => Math.min(SLOWEST_RISE, x), 0.009],
  down10Seconds: [octavesOfTime, 0.55],
  down20Seconds: [octavesOfTime, 0.5],
  down40Seconds: [octavesOfTime, 0.55],
  toneShare: [(x) => Math.log(x / (1 - x)), 1.1],
  flatnessDb: [(x) => x, 6],
};
const FIGURES = Object.keys(SCALES) as (keyof DrumKind)[];

/** Measures a hit. @returns null for one without sound. */
export function drumKind(sound: HitSound, { frames, tonality }: HitLook): DrumKind | null {
  const figures = bandFigures(frames);
  const { flatnessDb } = tonality;
  return figures && { ...figures, toneShare: toneShareOf(sound), flatnessDb };
}

/** The figures that follow from powers by band and time. @returns null for a hit without sound. */
export function bandFigures(look: BandFrames): BandFigures | null {
  const { bands, frames } = look;
  const late = bands.map((_, band) => Math.round(bandDelay(FIRST_BAND + band) / FRAME_SECONDS));
  // A sound is in all its bands at once, however late their filters answer.
  const levels = new Float64Array(frames).map((_, k) =>
    bands.reduce((sum, powers, band) => sum + (powers[k + (late[band] as number)] ?? 0), 0),
  );
  const loudest = levels.reduce(
    (best, level, k) => (level > (levels[best] as number) ? k : best),
    0,
  );
  const peak = levels[loudest] ?? 0;
  if (!(peak > 0)) return null;
  const down = (db: number): number => {
    const last = levels.findLastIndex((level) => level >= peak * 10 ** (-db / 10));
    return FRAME_SECONDS * (1 + last - loudest);
  };
  return {
    ...placeOf(look),
    riseSeconds: FRAME_SECONDS * loudest,
    down10Seconds: down(10),
    down20Seconds: down(20),
    down40Seconds: down(40),
  };
}

/** How far the kinds of two hits are apart. */
export function kindDistance(own: DrumKind, other: DrumKind): KindDistance {
  const differences = FIGURES.map((figure): KindDifference => {
    const [scaled, unit] = SCALES[figure];
    const by = (scaled(other[figure]) - scaled(own[figure])) / unit;
    return { figure, own: own[figure], other: other[figure], by };
  });
  const squares = differences.reduce(
    (sum, { by }) => sum + Math.min(MOST_BY, Math.abs(by)) ** 2,
    0,
  );
  return {
    distance: Math.sqrt(squares / FIGURES.length),
    differences: differences.toSorted((a, b) => Math.abs(b.by) - Math.abs(a.by)),
  };
}

function octavesOfTime(seconds: number): number {
  return Math.log2(seconds + HALF_FRAME);
}

function placeOf({ bands }: BandFrames): Pick<DrumKind, 'centreHz' | 'widthOctaves'> {
  const powers = bands.map((frames) => frames.reduce((sum, power) => sum + power, 0));
  const whole = powers.reduce((sum, power) => sum + power, 0);
  const places = bands.map((_, band) => {
    const [low, high] = bandEdges(FIRST_BAND + band);
    return Math.log2(low * high) / 2;
  });
  const mean = (of: (place: number) => number): number =>
    places.reduce((sum, place, band) => sum + (of(place) * (powers[band] as number)) / whole, 0);
  const centre = mean((place) => place);
  return {
    centreHz: 2 ** centre,
    widthOctaves: Math.sqrt(mean((place) => (place - centre) ** 2)),
  };
}

function toneShareOf(sound: HitSound): number {
  const { power, binHz } = startSpectrum(sound);
  const [lowest, highest] = HEARD_HZ;
  const left = power.slice(Math.ceil(lowest / binHz), Math.floor(highest / binHz) + 1);
  const first = Math.ceil(lowest / binHz);
  const whole = left.reduce((sum, one) => sum + one, 0);
  let tone = 0;
  for (let partial = 0; partial < PARTIALS; partial++) {
    let top = 0;
    for (let k = 1; k < left.length; k++) if ((left[k] as number) > (left[top] as number)) top = k;
    const reach = Math.max(LEAST_REACH_HZ / binHz, REACH * (first + top));
    const around = left.subarray(Math.max(0, Math.ceil(top - reach)), Math.floor(top + reach) + 1);
    for (const one of around) tone += one;
    around.fill(0);
  }
  const share = whole > 0 ? tone / whole : 0;
  return Math.min(MOST_SHARE, Math.max(1 - MOST_SHARE, share));
}
