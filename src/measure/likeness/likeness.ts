/** Two sounds, and how far a hit of the one is from a hit of the other. */

import { nominalHz } from '../spectrum/bands.ts';
import { BandScope, FIRST_BAND, FRAME_SECONDS, type HitSound } from './band-frames.ts';
import { type HitDistance, hitDistance } from './hit-distance.ts';
import { lookAt } from './hit-look.ts';
import { chosenHit, comparedWith, hitSounds } from './hit-spans.ts';
import { monoOf, type Sound } from './mono.ts';
import { noiseOf } from './noise.ts';

/** Which hit of a sound was compared. */
export interface ComparedHit {
  /** From 0. */
  readonly index: number;
  /** How many there are. */
  readonly of: number;
  /** When it sets in, s. */
  readonly time: number;
  /** Time until the next one or the end, s. */
  readonly seconds: number;
}

/** How far a sound is from a reference. Without sign, except for how much louder one is. */
export interface Likeness {
  /** The distance, dB: the sum of the next three. */
  readonly db: number;
  readonly bandsDb: number;
  readonly tonalityDb: number;
  readonly pitchDb: number;
  /** The gain that brought the sound to the level of the reference, dB. */
  readonly gainDb: number;
  /**
   * By third octave from 50 Hz to 16 kHz, as far as half the lower sample rate goes: the magnitude of the difference,
   * and by how much the reference is louder, dB. Both are means over the frames in which the reference is heard, as
   * `bandsDb` is, which is the mean of the bands; silence after the hit changes none of them.
   */
  readonly byBand: readonly {
    readonly nominalHz: number;
    readonly db: number;
    readonly louderDb: number;
  }[];
  /** The same by frames of 10 ms, each a mean over the bands: when it begins after the onset, s. */
  readonly byTime: readonly {
    readonly time: number;
    readonly db: number;
    readonly louderDb: number;
  }[];
  /** By band, then by frame: by how many dB the reference is louder there. */
  readonly differences: readonly (readonly number[])[];
  readonly hit: ComparedHit;
  readonly reference: ComparedHit;
}

/** Why two sounds cannot be compared. */
export class LikenessError extends Error {
  /** Which of the two is at fault. */
  readonly which: 'sound' | 'reference';

  constructor(which: LikenessError['which'], message: string) {
    super(message);
    this.which = which;
  }
}

/**
 * Measures how many dB a sound is from a reference, band by band and time by time, of one hit of each. Of several
 * the one is taken that has most time to itself, of those about as loud as the loudest.
 * @throws LikenessError if one has no hit, or its hit no sound from 50 Hz to 16 kHz; RangeError for a
 *   sample rate under 8000 Hz, or no channel.
 */
export function likenessOf(sound: Sound, reference: Sound): Likeness {
  const [own, other] = [chosenOf(reference, 'reference'), chosenOf(sound, 'sound')];
  const scope = new BandScope(reference.sampleRate);
  const first = lookAt(scope, own.hit);
  const second = lookAt(new BandScope(sound.sampleRate), comparedWith(other.hit, own.hit));
  const noise = noiseOf(scope, own.hit.samples, own.onsets);
  const found = hitDistance(first, second, { noise });
  if (found === null) {
    const isMute = first.frames.bands.every((powers) => powers.every((power) => !(power > 0)));
    throw new LikenessError(
      isMute ? 'reference' : 'sound',
      'its hit has no sound from 50 Hz to 16 kHz',
    );
  }
  return { ...differenceOf(found), hit: other.told, reference: own.told };
}

/** How far two hits are from each other, whichever they are. */
export type HitDifference = Omit<Likeness, 'hit' | 'reference'>;

/** Puts a distance by band and by time. */
export function differenceOf(found: HitDistance): HitDifference {
  const { db, bandsDb, tonalityDb, pitchDb, gainDb, differences, compared, frames: heard } = found;
  const frames = Array.from({ length: compared }, (_, k) => k);
  return {
    ...{ db, bandsDb, tonalityDb, pitchDb, gainDb },
    byBand: differences.map((row, band) => ({
      nominalHz: nominalHz(FIRST_BAND + band),
      ...meansOf([...row], heard),
    })),
    byTime: frames.map((k) => ({
      time: Number((k * FRAME_SECONDS).toFixed(2)),
      ...meansOf(
        differences.map((row) => row[k] as number),
        differences.length,
      ),
    })),
    differences: differences.map((row) => [...row]),
  };
}

function meansOf(
  values: readonly number[],
  count: number,
): { readonly db: number; readonly louderDb: number } {
  const mean = (of: (value: number) => number): number =>
    values.reduce((sum, value) => sum + of(value), 0) / count;
  return { db: mean(Math.abs), louderDb: mean((value) => value) };
}

function chosenOf(
  sound: Sound,
  which: LikenessError['which'],
): {
  readonly hit: HitSound;
  readonly onsets: readonly number[];
  readonly told: ComparedHit;
} {
  const { sampleRate } = sound;
  if (!(sampleRate >= 8000))
    throw new RangeError(`its sample rate is ${sampleRate} Hz, under 8000`);
  const hits = hitSounds(monoOf(sound), sampleRate);
  const index = chosenHit(hits);
  const hit = hits[index];
  if (hit === undefined) throw new LikenessError(which, 'no hit was found');
  const { onset, end } = hit;
  const [time, seconds] = [onset / sampleRate, (end - onset) / sampleRate];
  return {
    hit,
    onsets: hits.map((one) => one.onset),
    told: { index, of: hits.length, time, seconds },
  };
}

/** A frame that differs by less is printed as one that does not, dB. */
const NO_DIFFERENCE = 0.05;

/** How many frames there are until both hits have died away, after which nothing differs; all if nothing does at all. */
export function differingFrames({ byTime }: Pick<Likeness, 'byTime'>): number {
  const last = byTime.findLastIndex(({ db }) => db >= NO_DIFFERENCE);
  return last < 0 ? byTime.length : last + 1;
}
