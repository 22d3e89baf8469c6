/**
 * The levels of the parts of a voice: the powers of parts that are played apart add up, so their levels
 * are found without another render.
 */

import type { BandFrames } from '../../measure/likeness/band-frames.ts';
import type { Target } from '../target.ts';

/** Steps that a level is moved by, dB, the coarse ones first. */
const STEPS = [12, 6, 3, 1.5];
/** A part that gains less is left out, dB. */
const WORTH_DB = 0.05;

export interface FoundLevels {
  /** Gain of each part against how it was played, dB; null for one that is left out. */
  readonly gainsDb: readonly (number | null)[];
  /** The distance with these, dB, without tonality and pitch. */
  readonly db: number;
}

/** Finds them, from where all are as loud as the loudest, or as they were played. @param parts each played alone. */
export function levelsFor(parts: readonly BandFrames[], target: Target): FoundLevels {
  const energies = parts.map(energyOf);
  const loudest = energies.reduce((most, one) => Math.max(most, one), 0);
  const alike = energies.map((energy) => (energy > 0 ? 10 * Math.log10(loudest / energy) : null));
  const asPlayed = energies.map((energy) => (energy > 0 ? 0 : null));
  const found = [alike, asPlayed].map((start) => levelsFrom(start, parts, target));
  return found.reduce((best, one) => (one.db < best.db ? one : best));
}

function levelsFrom(
  start: readonly (number | null)[],
  parts: readonly BandFrames[],
  target: Target,
): FoundLevels {
  let gains = start;
  const farWith = (some: readonly (number | null)[]): number =>
    target.searchedBands(summed(parts, some));
  let db = farWith(gains);
  const take = (tried: readonly (number | null)[]): boolean => {
    const far = farWith(tried);
    if (!(far < db)) return false;
    [gains, db] = [tried, far];
    return true;
  };
  for (const step of STEPS)
    for (const index of parts.keys())
      for (const way of [step, -step])
        for (let moves = 0; moves < 4; moves++) {
          const own = gains[index];
          if (own === null || own === undefined || !take(gains.with(index, own + way))) break;
        }
  for (const index of parts.keys()) {
    const without = gains.with(index, null);
    if (gains[index] === null || without.every((one) => one === null)) continue;
    const far = farWith(without);
    if (far < db + WORTH_DB) [gains, db] = [without, far];
  }
  return { gainsDb: gains, db };
}

/** Powers of parts with other levels, added up. */
function summed(parts: readonly BandFrames[], gainsDb: readonly (number | null)[]): BandFrames {
  const frames = parts.reduce((most, one) => Math.max(most, one.frames), 0);
  const count = parts[0]?.bands.length ?? 0;
  const bands = Array.from({ length: count }, () => new Float64Array(frames));
  parts.forEach((part, index) => {
    const db = gainsDb[index];
    if (db === null || db === undefined) return;
    const gain = 10 ** (db / 10);
    part.bands.forEach((powers, b) => {
      const sums = bands[b] as Float64Array;
      for (let k = 0; k < powers.length; k++)
        sums[k] = (sums[k] as number) + gain * (powers[k] as number);
    });
  });
  return { bands, frames, hasEnded: true };
}

function energyOf({ bands }: BandFrames): number {
  let sum = 0;
  for (const powers of bands) for (const power of powers) sum += power;
  return sum;
}
