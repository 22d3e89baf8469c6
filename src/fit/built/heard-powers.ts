/** A recording's hit as a voice is shaped by it: powers by band and by stretches of time. */

import { type BandScope, FRAME_SECONDS, stretches } from '../../measure/likeness/band-frames.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import type { RecordedHits } from '../recording.ts';
import { type Windows, windowsOf } from './course.ts';

export interface HeardPowers {
  readonly scope: BandScope;
  /** By band from 50 Hz up, and stretch: its mean power, not under the band's floor. */
  readonly powers: readonly Float64Array[];
  /** By band: 60 dB under the loudest of the loudest frame, or twice its noise; lower power is not compared. */
  readonly floors: readonly number[];
  /** The sum of all powers, each by its weight. */
  readonly energy: number;
  /** Frames of 10 ms in each stretch: its weight. */
  readonly weights: Float64Array;
  /** The stretches: frames, from one and up to another. */
  readonly parts: readonly (readonly [from: number, to: number])[];
  /** The same as filters take means over them. */
  readonly windows: Windows;
  /** Length that is compared, s from the onset. */
  readonly seconds: number;
}

const FLOOR = 1e-6;
/** Silence after a hit that has died away is compared too, frames. */
const AFTER = 10;

/** Looks at the chosen hit, for as long as it is heard. */
export function heardPowers({ scope, target }: RecordedHits): HeardPowers {
  const { bands, frames, hasEnded } = target.typicalFrames;
  const heard = Math.round(target.seconds / FRAME_SECONDS);
  const compared = Math.min(heard, hasEnded ? frames + AFTER : frames);
  const parts = stretches(compared);
  const floor = FLOOR * largest(bands.map((powers) => largest(powers, 0)));
  const floors = bands.map((_, band) => Math.max(floor, 2 * (target.noise[band] ?? 0)));
  const own = bands.map((powers) => pooled(powers, parts));
  const weights = Float64Array.from(parts, ([from, to]) => to - from);
  return {
    scope,
    powers: own.map((powers, band) => powers.map((one) => Math.max(floors[band] as number, one))),
    floors,
    energy: own.reduce(
      (sum, powers) => powers.reduce((all, one, k) => all + one * (weights[k] as number), sum),
      0,
    ),
    weights,
    parts,
    windows: windowsFrom(parts, 0),
    seconds: compared * FRAME_SECONDS,
  };
}

/** Stretches as filters take means over them, for a voice that is struck so long before its onset, s. */
export function windowsFrom(parts: HeardPowers['parts'], lead: number): Windows {
  return windowsOf(
    parts.map(([from, to]) => [from * FRAME_SECONDS + lead, to * FRAME_SECONDS + lead] as const),
  );
}

/** Means over stretches; after the end there is silence. */
export function pooled(
  powers: Float64Array,
  parts: readonly (readonly [from: number, to: number])[],
): Float64Array {
  return Float64Array.from(parts, ([from, to]) => {
    let sum = 0;
    for (let k = from; k < to; k++) sum += powers[k] ?? 0;
    return sum / (to - from);
  });
}
