/**
 * How far one hit is from another, in dB, by weights that depend on neither.
 *
 *   distance = bands + 0.1 x |flatness - flatness'| + 0.2 dB x semitones x tone
 *
 * - bands: the mean of |10 log10(R / (g S))| over third octaves (50 Hz to 16 kHz) and frames of 10 ms,
 *   both aligned at their onsets, where each first comes within 20 dB of its peak. g makes the energies in
 *   all bands and frames equal. R and g S count as no less than 60 dB under the reference's loudest band in
 *   its loudest frame, nor than twice the noise that the reference has where there is no hit, which g S is
 *   given too. The mean is over the frames until the reference is under that for good; the other's sound
 *   after them is added, for a tenth of a second after its end. That end is where the reference has died
 *   away (its last 5 ms are 40 dB under a sine of its peak): a reference that is cut off earlier says
 *   nothing about the sound after the cut, so the other is cut off at the same time (`comparedWith`), and
 *   nothing after that is compared.
 * - flatness: `tonality.ts`, in dB.
 * - semitones between the strongest partials, 12 at most. They are weighted by how much of a tone the less
 *   tonal of the two is: not at all at a flatness of -5 dB, fully at -15 dB.
 *
 * Chosen by trial, no source: a cowbell and an open hat differ by some 1 dB in the second term.
 */

import { type BandFrames, FRAME_SECONDS, smoothed } from './band-frames.ts';
import type { HitLook } from './hit-look.ts';
import type { Tonality } from './tonality.ts';

export interface HitDistance {
  /** The distance: the sum of the three, dB. */
  readonly db: number;
  readonly bandsDb: number;
  readonly tonalityDb: number;
  readonly pitchDb: number;
  /** The gain that brought the other to the level of the reference, dB. */
  readonly gainDb: number;
  /** How many frames the means are over, and how many were looked at. */
  readonly frames: number;
  readonly compared: number;
  /**
   * By band from 50 Hz up and frame: by how many dB the reference is louder there; 0 where neither is
   * heard.
   */
  readonly differences: readonly Float64Array[];
}

export interface HitDistanceOptions {
  /**
   * By band, the power that the reference has without the hit: differences under twice that are not
   * counted. None unless given.
   */
  readonly noise?: readonly number[];
  /** Whether the levels are made alike first; true unless given. */
  readonly isLevelled?: boolean;
}

/** Under the loudest band of the loudest frame, dB. */
const FLOOR_DB = 60;
/** Silence after a hit that has died away is compared for so long, s. */
const AFTER_END = 0.1;
/** dB per dB of flatness. */
const TONALITY_WEIGHT = 0.1;
/** dB per semitone. */
const PITCH_WEIGHT = 0.2;
const MOST_SEMITONES = 12;
/** Flatness of a sound without pitch, and of one that is all tone, dB. */
const NOISE_DB = -5;
const TONE_DB = -15;

/**
 * Compares a hit with a reference.
 * @returns null if one of them has no sound in the bands.
 */
export function hitDistance(
  reference: HitLook,
  other: HitLook,
  { noise = [], isLevelled = true }: HitDistanceOptions = {},
): HitDistance | null {
  const [own, theirs] = [reference.frames, other.frames];
  const count = Math.min(own.bands.length, theirs.bands.length);
  const after = Math.round(AFTER_END / FRAME_SECONDS);
  const compared = Math.min(
    own.hasEnded ? own.frames + after : own.frames,
    theirs.hasEnded ? Number.POSITIVE_INFINITY : theirs.frames,
  );
  const energy = energyOf(own.bands.slice(0, count), compared, noise);
  const otherEnergy = energyOf(theirs.bands.slice(0, count), compared, []);
  if (!(energy > 0 && otherEnergy > 0)) return null;
  const gain = isLevelled ? energy / otherEnergy : 1;
  const floor = floorOf(own.bands.slice(0, count));
  const heard = Math.min(compared, heardFrames(own, noise));
  let sum = 0;
  const differences: Float64Array[] = [];
  for (let b = 0; b < count; b++) {
    const hiss = noise[b] ?? 0;
    const bottom = Math.max(floor, 2 * hiss);
    const [powers, others] = [own.bands[b] as Float64Array, theirs.bands[b] as Float64Array];
    const row = new Float64Array(compared);
    for (let k = 0; k < compared; k++) {
      const r = Math.max(bottom, powers[k] ?? 0);
      const s = Math.max(bottom, gain * (others[k] ?? 0) + hiss);
      const db = 10 * Math.log10(r / s);
      row[k] = db;
      sum += Math.abs(db);
    }
    differences.push(row);
  }
  const bandsDb = sum / (count * heard);
  const tonalityDb =
    TONALITY_WEIGHT * Math.abs(reference.tonality.flatnessDb - other.tonality.flatnessDb);
  const pitchDb = pitchTerm(reference.tonality, other.tonality);
  return {
    db: bandsDb + tonalityDb + pitchDb,
    bandsDb,
    tonalityDb,
    pitchDb,
    gainDb: 10 * Math.log10(gain),
    frames: heard,
    compared,
    differences,
  };
}

/** How many frames of a reference are audible; one at least. */
export function heardFrames({ bands }: BandFrames, noise: readonly number[]): number {
  const floor = floorOf(bands);
  let heard = 1;
  bands.forEach((powers, band) => {
    // Chance alone hardly ever brings a mean of noise to four times its value.
    const hiss = noise[band] ?? 0;
    const bottom = Math.max(floor, 4 * hiss);
    const means = hiss > 0 ? smoothed(powers) : powers;
    for (let k = powers.length - 1; k >= heard; k--)
      if ((means[k] as number) > bottom) heard = k + 1;
  });
  return heard;
}

function pitchTerm(a: Tonality, b: Tonality): number {
  if (a.partialHz === null || b.partialHz === null) return 0;
  const semitones = Math.min(MOST_SEMITONES, 12 * Math.abs(Math.log2(a.partialHz / b.partialHz)));
  const least = Math.max(a.flatnessDb, b.flatnessDb);
  const tone = Math.min(1, Math.max(0, (NOISE_DB - least) / (NOISE_DB - TONE_DB)));
  return PITCH_WEIGHT * semitones * tone;
}

/** The energy of a band besides its noise. */
function energyOf(
  bands: readonly Float64Array[],
  frames: number,
  noise: readonly number[],
): number {
  let sum = 0;
  bands.forEach((powers, band) => {
    const known = Math.min(frames, powers.length);
    let own = 0;
    for (let k = 0; k < known; k++) own += powers[k] as number;
    sum += Math.max(0, own - known * (noise[band] ?? 0));
  });
  return sum;
}

function floorOf(bands: readonly Float64Array[]): number {
  let most = 0;
  for (const powers of bands) for (const power of powers) most = Math.max(most, power);
  return most * 10 ** (-FLOOR_DB / 10);
}
