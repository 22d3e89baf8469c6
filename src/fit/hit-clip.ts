/**
 * A recording's hit and a patch's, as clips of one length with the same lead before the hit, to be heard one after
 * the other.
 */

import type { HitSound } from '../measure/likeness/band-frames.ts';
import type { HitDistance } from '../measure/likeness/hit-distance.ts';
import { lookAt } from '../measure/likeness/hit-look.ts';
import { comparedWith } from '../measure/likeness/hit-spans.ts';
import type { Patch } from '../patch/patch.ts';
import { type VoiceChannel, voiceOf } from './path.ts';
import { reportedHit } from './play.ts';
import type { RecordedHits } from './recording.ts';

/** Before the onset, and silence after the longest, so that a loop does not run on into itself, s. */
const BEFORE = 0.01;
const AFTER = 0.2;

/** The hit of the recording that was compared. */
export function recordedClip({ sound, longest }: RecordedHits): Float64Array {
  return clipOf(sound, longest);
}

/** The hit of a patch that is reported on, and how far it is from the recording's. */
export interface PatchHit {
  readonly clip: Float64Array;
  /** Null if it has no sound in the bands. */
  readonly distance: HitDistance | null;
}

/**
 * The hit of a patch, for comparison.
 * @param isLevelled whether the distance is that at equal levels.
 * @returns undefined if the patch makes none.
 */
export function patchHit(
  patch: Patch,
  { scope, target, longest, sound }: RecordedHits,
  channel: VoiceChannel | undefined,
  isLevelled: boolean,
): PatchHit | undefined {
  const hit = reportedHit(voiceOf(patch, channel), {
    sampleRate: scope.sampleRate,
    channel,
    seconds: target.reportedSeconds,
  });
  if (hit === undefined) return undefined;
  const distance = target.reported(lookAt(scope, comparedWith(hit, sound)), isLevelled);
  return { clip: clipOf(hit, longest), distance };
}

/** Short enough to lie before the onset, and long enough not to click, s. */
const FADE = 0.005;
/** The share of a hit that its fade may take at most. */
const SHARE = 1 / 4;

/**
 * A copy of a clip that begins and ends without a click where it was cut out of what sounds on. What begins later
 * than the clip begins by itself, and keeps its attack.
 */
export function fadedCut(clip: Float64Array, sampleRate: number): Float64Array {
  const from = clip.findIndex((sample) => sample !== 0);
  const to = clip.findLastIndex((sample) => sample !== 0) + 1;
  const length = Math.min(Math.round(FADE * sampleRate), Math.floor(SHARE * (to - from)));
  const made = clip.slice();
  for (let n = 0; n < length; n++) {
    const gain = Math.sin((Math.PI / 2) * (n / length)) ** 2;
    if (from === 0) made[n] = (made[n] as number) * gain;
    made[to - 1 - n] = (made[to - 1 - n] as number) * gain;
  }
  return made;
}

function clipOf({ samples, sampleRate, onset, end }: HitSound, longest: number): Float64Array {
  const before = Math.round(BEFORE * sampleRate);
  const clip = new Float64Array(before + Math.round((longest + AFTER) * sampleRate));
  const from = Math.max(0, onset - before);
  clip.set(samples.subarray(from, Math.min(end, from + clip.length)), before - (onset - from));
  return clip;
}
