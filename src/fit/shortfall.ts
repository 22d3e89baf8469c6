/**
 * The parts of a sound that a patch cannot reach: where in bands and time a recording and a render still
 * differ, as few boxes of the map of differences.
 *
 * A box is the one over which the difference beyond 6 dB adds up to the most, of either sign; then that is
 * taken out, and the next is looked for. Source of the sum along one axis: J. Bentley, Algorithm Design
 * Techniques, Commun. ACM 27 (1984) 865-873, the largest sum of a stretch (from memory).
 */

import { reliabilityOf } from '../measure/estimate.ts';
import { bandDelay } from '../measure/likeness/band-filters.ts';
import {
  type BandFrames,
  FIRST_BAND,
  FRAME_SECONDS,
  type HitSound,
} from '../measure/likeness/band-frames.ts';
import type { HitDistance } from '../measure/likeness/hit-distance.ts';
import { lineThrough } from '../measure/pitch/line.ts';
import { type Partial, partialsOf } from '../measure/pitch/partials.ts';
import { bandEdges, nominalHz } from '../measure/spectrum/bands.ts';
import {
  binEdges,
  hann,
  Periodogram,
  powerBetween,
  type Strips,
} from '../measure/spectrum/spectrum.ts';

/** A box of bands and time in which one of the two sounds is louder. */
export interface Shortfall {
  /** The louder one. */
  readonly louder: 'recording' | 'patch';
  /** How much louder, dB, in the mean over the box. */
  readonly byDb: number;
  /** From the lower edge of the lowest band to the upper edge of the highest, Hz. */
  readonly lowHz: number;
  readonly highHz: number;
  /** Midband frequencies of these, as meters print them, Hz. */
  readonly nominal: readonly [low: number, high: number];
  /** Whether it goes to the lowest band, and to the highest. */
  readonly isLowest: boolean;
  readonly isHighest: boolean;
  /** After the onset, s. */
  readonly from: number;
  readonly to: number;
  /** Whether it goes on to where the hit is over. */
  readonly isToEnd: boolean;
  /** Its share of all differences in bands and time, 0 to 1. */
  readonly share: number;
  /** The recording's strongest partial there, Hz; null for noise. */
  readonly partial: Partial | null;
  /** Time in which the recording would fall by 60 dB there, s, and how far that can be trusted, 0 to 1. */
  readonly fall: number;
  readonly fallReliability: number;
}

/** Differences up to this are ignored, dB: chance makes some 4 of two hits of one noise. */
const SLIGHT_DB = 6;
/** A box with less than this share of all differences is not reported. */
const LEAST_SHARE = 0.06;
const MOST = 3;
/** A box is a tone if its strongest partial, this far to each side, has this part of its power. */
const TONE_WIDTH = 1.03;
const TONE_SHARE = 0.4;
/** A slower fall cannot be told from a steady sound, s; nor a faster one from a click. */
const FALLS = [0.01, 10] as const;
/** A shorter stretch is not enough to tell a tone from a noise, s. */
const TONE_SECONDS = 0.06;

/**
 * Finds them, the largest first.
 * @param recorded the recording's hit, and its powers by band and time.
 */
export function shortfallsOf(
  { differences, frames: heard }: HitDistance,
  recorded: { readonly sound: HitSound; readonly frames: BandFrames },
): readonly Shortfall[] {
  const left = differences.map((row) => Float64Array.from(row));
  let all = 0;
  for (const row of left) for (const db of row) all += Math.abs(db);
  const found: Shortfall[] = [];
  while (found.length < MOST && all > 0) {
    const [over, under] = [largestBox(left, 1), largestBox(left, -1)];
    const box = over.sum >= under.sum ? over : under;
    const sign = box === over ? 1 : -1;
    if (!(box.sum > 0)) break;
    const [low, high] = box.bands;
    const [first, last] = box.frames;
    let sum = 0;
    for (let b = low; b <= high; b++)
      for (let k = first; k <= last; k++) {
        sum += sign * ((differences[b] as Float64Array)[k] as number);
        (left[b] as Float64Array)[k] = 0;
      }
    const share = sum / all;
    if (share < LEAST_SHARE) break;
    // What is heard through a narrow filter has been there for a while.
    const late = Math.floor(bandDelay(FIRST_BAND + (low + high) / 2) / FRAME_SECONDS);
    const from = Math.max(0, first - late) * FRAME_SECONDS;
    const to = Math.max(1, last + 1 - late) * FRAME_SECONDS;
    const [lowHz, highHz] = [bandEdges(FIRST_BAND + low)[0], bandEdges(FIRST_BAND + high)[1]];
    found.push({
      louder: sign > 0 ? 'recording' : 'patch',
      byDb: sum / ((high - low + 1) * (last - first + 1)),
      ...{ lowHz, highHz, from, to, share },
      nominal: [nominalHz(FIRST_BAND + low), nominalHz(FIRST_BAND + high)],
      isLowest: low === 0,
      isHighest: high === differences.length - 1,
      isToEnd: last >= heard - 2,
      partial: sign > 0 ? toneOf(recorded.sound, { lowHz, highHz, from, to }) : null,
      ...fallIn(recorded.frames, box),
    });
  }
  return found;
}

interface Box {
  readonly sum: number;
  readonly bands: readonly [number, number];
  readonly frames: readonly [number, number];
}

/** The box whose differences of one sign, each beyond the ignored amount, add up to the most. */
function largestBox(rows: readonly Float64Array[], sign: 1 | -1): Box {
  let best: Box = { sum: 0, bands: [0, 0], frames: [0, 0] };
  const count = rows[0]?.length ?? 0;
  for (let low = 0; low < rows.length; low++) {
    const sums = new Float64Array(count);
    for (let high = low; high < rows.length; high++) {
      const row = rows[high] as Float64Array;
      let sum = 0;
      let from = 0;
      for (let k = 0; k < count; k++) {
        sums[k] = (sums[k] as number) + sign * (row[k] as number) - SLIGHT_DB;
        if (sum <= 0) [sum, from] = [0, k];
        sum += sums[k] as number;
        if (sum > best.sum) best = { sum, bands: [low, high], frames: [from, k] };
      }
    }
  }
  return best;
}

/** How fast the recording falls in a box: the straight line of least squares through its level. */
function fallIn(
  { bands: rows }: BandFrames,
  { bands: [low, high], frames }: Box,
): Pick<Shortfall, 'fall' | 'fallReliability'> {
  const [first, last] = frames;
  const levels = Array.from({ length: last - first + 1 }, (_, k) => {
    let power = 0;
    for (let b = low; b <= high; b++) power += rows[b]?.[first + k] ?? 0;
    return { time: k * FRAME_SECONDS, db: 10 * Math.log10(Math.max(1e-20, power)) };
  });
  const [fastest, slowest] = FALLS;
  // One frame alone says nothing about the fall after it.
  if (levels.length < 3) return { fall: levels.length * FRAME_SECONDS, fallReliability: 0 };
  const { perSecond, error } = lineThrough(levels);
  const fall = -60 / perSecond;
  if (fall > fastest && fall < slowest) return { fall, fallReliability: reliabilityOf(error) };
  return { fall: perSecond < 0 && fall <= fastest ? fastest : slowest, fallReliability: 0 };
}

/** The partial with most of the power in a box; null if none has it. */
function toneOf(
  sound: HitSound,
  { lowHz, highHz, from, to }: Pick<Shortfall, 'lowHz' | 'highHz' | 'from' | 'to'>,
): Partial | null {
  const { sampleRate } = sound;
  const onset = sound.onset + Math.round(from * sampleRate);
  const last = sound.onset + Math.round(Math.max(from + TONE_SECONDS, to) * sampleRate);
  const piece = { ...sound, onset, end: Math.min(sound.end, last) };
  const [partial] = partialsOf(piece, { most: 1, lowHz, highHz });
  if (partial === undefined) return null;
  const strips = stripsOf(piece);
  const { hz } = partial;
  const tone = powerBetween(
    strips,
    Math.max(lowHz, hz / TONE_WIDTH),
    Math.min(highHz, hz * TONE_WIDTH),
  );
  return tone >= TONE_SHARE * powerBetween(strips, lowHz, highHz) ? partial : null;
}

function stripsOf({ samples, onset, end, sampleRate }: HitSound): Strips {
  const length = end - onset;
  const weights = new Float64Array(2 ** Math.ceil(Math.log2(Math.max(4, length))));
  weights.set(hann(length));
  const periodogram = new Periodogram(weights);
  const room = new Float64Array(weights.length);
  room.set(samples.subarray(onset, end));
  periodogram.add(room);
  return { edges: binEdges(weights.length / 2 + 1, sampleRate), power: periodogram.energy };
}
