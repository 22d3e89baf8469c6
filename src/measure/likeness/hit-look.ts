/** The figures of a hit that are compared, and their mean over several alike hits. */

import { type BandFrames, type BandScope, type HitSound, smoothed } from './band-frames.ts';
import { type Tonality, tonalityOf } from './tonality.ts';

export interface HitLook {
  readonly frames: BandFrames;
  readonly tonality: Tonality;
}

/** Looks at a hit. */
export function lookAt(scope: BandScope, hit: HitSound): HitLook {
  return { frames: scope.framesOf(hit), tonality: tonalityOf(hit) };
}

/**
 * The mean of hits by their power, each brought to the level that they have in the mean: this reduces the random
 * scatter of a noise.
 * @param looks one or more, of one sample rate.
 */
export function meanLook(looks: readonly HitLook[]): HitLook {
  const [first, ...others] = looks as [HitLook, ...HitLook[]];
  if (others.length === 0) return first;
  const levels = looks.map(({ frames }) => {
    const common = looks.reduce((least, one) => Math.min(least, one.frames.frames), frames.frames);
    return energyOf(frames, common);
  });
  const mean = levels.reduce((sum, one) => sum + one, 0) / levels.length;
  const count = looks.reduce((most, { frames }) => Math.max(most, frames.frames), 0);
  const bands = first.frames.bands.map((_, band) => {
    const sums = new Float64Array(count);
    for (let k = 0; k < count; k++) {
      let sum = 0;
      let known = 0;
      looks.forEach(({ frames }, index) => {
        if (k >= frames.frames && !frames.hasEnded) return;
        const level = levels[index] as number;
        known++;
        if (level > 0) sum += ((frames.bands[band]?.[k] ?? 0) * mean) / level;
      });
      sums[k] = known > 0 ? sum / known : 0;
    }
    return sums;
  });
  const flatnessDb =
    looks.reduce((sum, { tonality }) => sum + tonality.flatnessDb, 0) / looks.length;
  return {
    frames: { bands, frames: count, hasEnded: looks.every(({ frames }) => frames.hasEnded) },
    tonality: { ...first.tonality, flatnessDb },
  };
}

/** The same with its powers {@link smoothed}. */
export function smoothLook({ frames, tonality }: HitLook): HitLook {
  return { frames: { ...frames, bands: frames.bands.map(smoothed) }, tonality };
}

function energyOf({ bands }: BandFrames, frames: number): number {
  let sum = 0;
  for (const powers of bands) for (let k = 0; k < frames; k++) sum += powers[k] as number;
  return sum;
}
