/** Brings sounds to one loudness: the loudest at which none of them clips. */

import type { LoudnessStep } from './gates.ts';

/**
 * The true peak that no clip may pass, dBTP. Source: EBU R 128, maximum permitted true peak level of
 * a programme (from memory).
 */
export const CEILING_DBTP = -1;

/** The figures of a sound that its levelling needs. */
export interface Loud {
  /** Integrated loudness by ITU-R BS.1770; null for silence. */
  readonly loudnessLufs: number | null;
  /** Null for silence. */
  readonly truePeakDbtp: number | null;
  /**
   * What its loudness is at other gains, as the `loudnessSteps` of a meter give it. Without them it is taken to rise by
   * the gain, which it does but for what is near the absolute gate.
   */
  readonly loudnessSteps?: readonly LoudnessStep[];
}

/** How sounds are brought to one loudness. */
export interface Levelling {
  /** The loudness that all audible sounds are brought to; null if all are silent. */
  readonly targetLufs: number | null;
  /** For each sound, dB; 0 for a silent one, which stays as it is. */
  readonly gainsDb: readonly number[];
}

/**
 * Finds the gains that bring sounds to one loudness, the highest at which none passes the ceiling.
 * @param sounds the figures of `SignalMeter` for each, or the same from another meter.
 * @param ceilingDbtp the limit for every true peak, dBTP.
 */
export function equalLoudness(sounds: readonly Loud[], ceilingDbtp = CEILING_DBTP): Levelling {
  let target = Number.POSITIVE_INFINITY;
  for (const { loudnessLufs, truePeakDbtp, loudnessSteps } of sounds)
    if (loudnessLufs !== null && truePeakDbtp !== null) {
      const own = loudnessLufs + stepAt(loudnessSteps, ceilingDbtp - truePeakDbtp);
      target = Math.min(target, own + ceilingDbtp - truePeakDbtp);
    }
  return {
    targetLufs: Number.isFinite(target) ? target : null,
    gainsDb: sounds.map(({ loudnessLufs, truePeakDbtp, loudnessSteps }) =>
      loudnessLufs === null || truePeakDbtp === null
        ? 0
        : gainTo(target - loudnessLufs, ceilingDbtp - truePeakDbtp, loudnessSteps),
    ),
  };
}

/**
 * The highest gain that makes a sound so much louder, dB. At the most that it may have it is loud enough. From there on
 * down its loudness falls with the gain, and only rises where blocks drop under the gate, so none of these ways down
 * goes too far.
 */
function gainTo(lu: number, mostDb: number, steps: readonly LoudnessStep[] | undefined): number {
  let gain = lu - stepAt(steps, mostDb);
  for (let next = gain; ; gain = next) {
    next = lu - stepAt(steps, gain);
    if (next >= gain) return gain;
  }
}

/** By how much the loudness at a gain, less that gain, is over that at none, LU. */
function stepAt(steps: readonly LoudnessStep[] = [], gainDb: number): number {
  const step = steps.findLast(({ fromDb }) => fromDb <= gainDb) ?? steps[0];
  return step?.lu ?? 0;
}
