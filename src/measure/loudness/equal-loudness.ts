/** Brings sounds to one loudness: the loudest at which none of them clips. */

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
  for (const { loudnessLufs, truePeakDbtp } of sounds)
    if (loudnessLufs !== null && truePeakDbtp !== null)
      target = Math.min(target, loudnessLufs + ceilingDbtp - truePeakDbtp);
  return {
    targetLufs: Number.isFinite(target) ? target : null,
    gainsDb: sounds.map(({ loudnessLufs, truePeakDbtp }) =>
      loudnessLufs === null || truePeakDbtp === null ? 0 : target - loudnessLufs,
    ),
  };
}
