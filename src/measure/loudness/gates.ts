/**
 * The two gates of loudness, for a sound as it is and for one that is played louder or softer.
 *
 * The absolute gate stands at -70 LUFS, whatever the gain. A sound that is turned up may bring blocks over it that were
 * left out before: they lower the mean, and with it the relative gate, so its loudness rises by less than the gain. One
 * that is turned down loses such blocks, and falls by less.
 *
 * Source: Recommendation ITU-R BS.1770-5, Annex 1: absolute gate at -70 LUFS, relative gate 10 LU below the mean of what
 * passes it.
 */

import { dbOfGain, gainOfDb } from '../../modules/dsp/math.ts';
import { mean } from '../mean.ts';

/** LUFS of a mean square of 1: the standard's constant, which makes a 997 Hz sine read right. */
const OFFSET_LUFS = -0.691;
const ABSOLUTE_GATE = powerOfDb(-70 - OFFSET_LUFS);
const RELATIVE_GATE = powerOfDb(-10);

/**
 * Gives the loudness of blocks of 400 ms by the two gates, in LUFS.
 * @param powers the mean square of each, summed over the channels; the result is -Infinity if none is audible.
 * @param gainDb as if they were played so much louder.
 */
export function loudnessOfBlocks(powers: Float64Array, gainDb = 0): number {
  const gate = ABSOLUTE_GATE / powerOfDb(gainDb);
  const audible = powers.filter((power) => power > gate);
  const threshold = mean(audible) * RELATIVE_GATE;
  return loudnessOfPower(mean(audible.filter((power) => power > threshold))) + gainDb;
}

/** What the gates let through from a gain on, up to the next step. */
export interface LoudnessStep {
  /** dB. */
  readonly fromDb: number;
  /** By how much the loudness, less the gain, is over the one that the steps are counted from; LU, to 0.01. */
  readonly lu: number;
}

/** Steps in one LU. */
const STEPS_PER_LU = 100;

/**
 * Gives the loudness of blocks at every gain, as the steps that it takes besides the gain itself.
 * @param powers as in {@link loudnessOfBlocks}.
 * @param lufs what the steps are counted from: the loudness at some gain, less that gain.
 * @returns in rising order of their gains, each lower than the one before. Under the first there is no loudness.
 */
export function stepsOfBlocks(powers: Float64Array, lufs: number): readonly LoudnessStep[] {
  const loudest = powers.filter((power) => power > 0).sort((a, b) => b - a);
  const steps: LoudnessStep[] = [];
  // Of the loudest blocks, so many are over the absolute gate, and so many over the relative one too.
  let audible = 0;
  let counted = 0;
  let sumOfAudible = 0;
  let sumOfCounted = 0;
  while (audible < loudest.length) {
    // Blocks of one power pass the absolute gate together.
    const softest = loudest[audible] as number;
    for (; loudest[audible] === softest; audible++) sumOfAudible += softest;
    const threshold = (sumOfAudible / audible) * RELATIVE_GATE;
    for (; counted < audible && (loudest[counted] as number) > threshold; counted++)
      sumOfCounted += loudest[counted] as number;
    const own = loudnessOfPower(sumOfCounted / counted);
    const lu = Math.round((own - lufs) * STEPS_PER_LU) / STEPS_PER_LU;
    if (steps.at(-1)?.lu !== lu) steps.push({ fromDb: dbOfPower(ABSOLUTE_GATE / softest), lu });
  }
  return steps;
}

/** The loudness of a mean square, LUFS; -Infinity for 0. */
export function loudnessOfPower(power: number): number {
  return OFFSET_LUFS + dbOfPower(power);
}

/** 10^(db/10). */
function powerOfDb(db: number): number {
  return gainOfDb(2 * db);
}

/** 10 log10(power); -Infinity for 0. */
function dbOfPower(power: number): number {
  return dbOfGain(power) / 2;
}
