/** The hits of a recording, and the one of them that is compared. */

import { largest } from '../../modules/dsp/extremes.ts';
import { burstsOf } from '../hits/bursts.ts';
import { OnsetDetector } from '../hits/onsets.ts';
import type { HitSound } from './band-frames.ts';
import { hitOnset } from './hit-onset.ts';

/** How far before a stroke's sample its sound may begin, s. */
const BACK = 0.005;
/** A hit is followed for so long, s. */
const LONGEST = 4;
/** A hit this far under its loudest has died away by itself, dB. */
const ENDED_DB = 40;
/** A hit so far under the loudest is not chosen, dB. */
const LOUD_DB = 6;
/** The level of a hit is that of its first moments, s. */
const LEVEL_SECONDS = 0.05;

/**
 * Finds the hits of a signal, each with its own stretch.
 * @param samples one channel, without offset, finite numbers.
 * @returns in order; none if there is no onset.
 */
export function hitSounds(samples: Float64Array, sampleRate: number): readonly HitSound[] {
  const detector = new OnsetDetector(sampleRate);
  detector.add(samples, samples.length);
  return soundsFrom(
    samples,
    sampleRate,
    detector.finish().map(({ sample }) => sample),
  );
}

/**
 * The same, of strokes that are known. Strokes that are heard as one, as those of a clap or a flam, are one hit: it
 * depends on chance how many of them are told apart.
 */
export function soundsFrom(
  samples: Float64Array,
  sampleRate: number,
  strokes: readonly number[],
): readonly HitSound[] {
  const onsets = burstsOf(strokes.map((sample) => ({ sample, time: sample / sampleRate }))).flatMap(
    ([first]) => (first === undefined ? [] : [first.sample]),
  );
  const back = Math.round(BACK * sampleRate);
  const longest = Math.round(LONGEST * sampleRate);
  return onsets.map((near, index) => {
    const next = onsets[index + 1] ?? samples.length;
    const from = Math.max(0, near - back);
    const onset = hitOnset(samples, { from, to: next, sampleRate });
    const end = Math.min(next, onset + longest);
    return { samples, sampleRate, onset, end, hasEnded: hasEnded(samples, onset, end, back) };
  });
}

/**
 * Chooses the hit that has most time to itself, of those that are about as loud as the loudest.
 * @returns its index; -1 for none.
 */
export function chosenHit(hits: readonly HitSound[]): number {
  const powers = hits.map(({ samples, onset, end, sampleRate }) =>
    meanSquare(samples, onset, Math.min(end, onset + Math.round(LEVEL_SECONDS * sampleRate))),
  );
  const least = largest(powers) * 10 ** (-LOUD_DB / 10);
  return hits.reduce((best, { onset, end }, index) => {
    if ((powers[index] as number) < least) return best;
    const other = hits[best];
    // Ends differ by some samples; a hit that is about as long is not longer.
    return other === undefined || end - onset > 1.05 * (other.end - other.onset) ? index : best;
  }, -1);
}

/**
 * Gives the part of a hit that is compared with a reference: a reference that is cut off before it has died
 * away says nothing about the sound after the cut, so the hit is cut off with it.
 */
export function comparedWith(hit: HitSound, reference: HitSound): HitSound {
  if (reference.hasEnded) return hit;
  const seconds = (reference.end - reference.onset) / reference.sampleRate;
  return { ...hit, end: Math.min(hit.end, hit.onset + Math.round(seconds * hit.sampleRate)) };
}

function hasEnded(samples: Float64Array, onset: number, end: number, tail: number): boolean {
  let peak = 0;
  for (let n = onset; n < end; n++) peak = Math.max(peak, (samples[n] as number) ** 2);
  const last = meanSquare(samples, Math.max(onset, end - tail), end);
  return last <= (peak / 2) * 10 ** (-ENDED_DB / 10);
}

function meanSquare(samples: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let n = from; n < to; n++) sum += (samples[n] as number) ** 2;
  return to > from ? sum / (to - from) : 0;
}
