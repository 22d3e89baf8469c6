/**
 * A recording's hit and a patch's, as clips of one length with the same lead before the hit, to be heard one after
 * the other.
 */

import type { HitSound } from '../measure/likeness/band-frames.ts';
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

/** The hit of a patch, for comparison; undefined if it makes none. */
export function patchClip(
  patch: Patch,
  { scope, target, longest }: RecordedHits,
  channel: VoiceChannel | undefined,
): Float64Array | undefined {
  const hit = reportedHit(voiceOf(patch, channel), {
    sampleRate: scope.sampleRate,
    channel,
    seconds: target.reportedSeconds,
  });
  return hit && clipOf(hit, longest);
}

function clipOf({ samples, sampleRate, onset, end }: HitSound, longest: number): Float64Array {
  const before = Math.round(BEFORE * sampleRate);
  const clip = new Float64Array(before + Math.round((longest + AFTER) * sampleRate));
  const from = Math.max(0, onset - before);
  clip.set(samples.subarray(from, Math.min(end, from + clip.length)), before - (onset - from));
  return clip;
}
