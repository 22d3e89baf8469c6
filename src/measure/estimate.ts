/** Numbers that may be in doubt: each comes with its reliability and, if that is not 1, the reason. */

export type Reason =
  | 'silent' // there is no sound
  | 'too-short' // too few samples, cycles or decibels to tell from
  | 'noise-floor' // the sound hardly stands out from the recording without it
  | 'clipped' // flat tops: the true peak is unknown
  | 'coarse' // the recording's own steps make any top flat
  | 'cut-short' // the next hit, or the end, comes before the sound has fallen 12 dB
  | 'cut-start' // the recording begins in the middle of it: its rise is not there
  | 'not-exponential' // a straight line in dB does not describe the fall
  | 'no-decay' // the sound does not fall
  | 'resolution' // faster than this sound's own waves can show: an upper bound
  | 'ambiguous' // several pitches at once: the period is common to them
  | 'noise' // no pitch: the wave does not repeat
  | 'unsure'; // nothing else explains it: one standard error is too large

export interface Estimate {
  /** Null for no value; the reason says why. */
  readonly value: number | null;
  /** From 0, a guess, to 1, as good as the sound allows. */
  readonly reliability: number;
  readonly reason: Reason | null;
}

/**
 * A standard error of this share makes a value half reliable, and one of 2.5 % makes it 0.9: then 5 % are two
 * standard errors.
 */
export const HALF_RELIABLE = 0.075;

/** How far to trust a figure. @param error of one standard error, as a share of it. */
export function reliabilityOf(error: number): number {
  return 1 / (1 + (error / HALF_RELIABLE) ** 2);
}

/** Gives no value, for a reason. */
export function none(reason: Reason): Estimate {
  return { value: null, reliability: 0, reason };
}
