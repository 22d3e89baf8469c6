/** A recording's hit, to compare renders with. */

import { type BandFrames, FRAME_SECONDS } from '../measure/likeness/band-frames.ts';
import { type HitDistance, heardFrames, hitDistance } from '../measure/likeness/hit-distance.ts';
import { type HitLook, smoothLook } from '../measure/likeness/hit-look.ts';

/** The distance of a render that has no sound in the bands, dB. */
export const MUTE_DB = 60;
/** Silence after a hit that has died away is compared too, s; a render is played a little longer. */
const AFTER_END = 0.12;

export class Target {
  /** What it was made of: plain data. */
  readonly given: {
    readonly chosen: HitLook;
    readonly typical: HitLook;
    readonly noise: readonly number[];
  };
  private readonly chosen: HitLook;
  private readonly typical: HitLook;
  private readonly heard: number;
  /** Power in each band where there is no hit; none where that is not known. */
  readonly noise: readonly number[];

  /**
   * @param chosen the hit that is reported on.
   * @param typical the mean of those like it, with less random scatter: the search compares renders with it.
   * @param noise power in each band where there is no hit; 0 for not known.
   */
  constructor(chosen: HitLook, typical: HitLook, noise: readonly number[]) {
    this.given = { chosen, typical, noise };
    this.chosen = chosen;
    this.typical = smoothLook(typical);
    this.noise = noise;
    this.heard = heardFrames(this.typical.frames, noise);
  }

  /** How long a render is played for the search, s: as long as the recording is heard. */
  get seconds(): number {
    return this.heard * FRAME_SECONDS + AFTER_END;
  }

  /** ... and for the report: to the recording's end. */
  get reportedSeconds(): number {
    return this.chosen.frames.frames * FRAME_SECONDS + AFTER_END;
  }

  /** Powers of the hit that is reported on. */
  get frames(): BandFrames {
    return this.chosen.frames;
  }

  /** Powers of the hit that the search compares renders with, smoothed. */
  get typicalFrames(): BandFrames {
    return this.typical.frames;
  }

  /** The strongest partial, Hz; null for a sound without any. */
  get partialHz(): number | null {
    return this.chosen.tonality.partialHz;
  }

  /**
   * The value that the search minimises: the distance, without the noise of the recording.
   * @param isLevelled whether the levels are made alike first.
   */
  searched(render: HitLook, isLevelled: boolean): number {
    return this.searchedParts(render, isLevelled)?.db ?? MUTE_DB;
  }

  /** The same part by part; null for a render that has no sound in the bands. */
  searchedParts(render: HitLook, isLevelled: boolean): HitDistance | null {
    const { typical, noise } = this;
    return hitDistance(typical, smoothLook(render), { noise, isLevelled });
  }

  /** The same of powers alone, whose tonality and pitch count as right. */
  searchedBands(frames: BandFrames): number {
    return this.searched({ frames, tonality: this.typical.tonality }, true);
  }

  /** The distance as it is reported: as anyone can measure it. */
  reported(render: HitLook, isLevelled: boolean): HitDistance | null {
    const { chosen, noise } = this;
    return hitDistance(chosen, render, { noise, isLevelled });
  }
}
