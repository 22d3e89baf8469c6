/** The background noise of a recording: its sound where there is no hit. */

import { type BandScope, FRAME_SECONDS } from './band-frames.ts';

/** This much before a hit is left out of the noise, s; and this much noise is enough. */
const CLEAR = 0.006;
const QUIET = { least: 0.05, most: 0.4 };
/** The narrowest filter has rung out by then, s. */
const RINGING = 0.3;
/** Noise that changes by more than this from its first half to its second is the tail of a sound, dB. */
const STEADY_DB = 1.5;

/**
 * Gives the mean power in each band where there is no hit.
 * @param onsets of the hits, samples.
 * @returns by band; none where no steady stretch of 50 ms is found, or it is silent.
 */
export function noiseOf(
  scope: BandScope,
  samples: Float64Array,
  onsets: readonly number[],
): readonly number[] {
  const { sampleRate } = scope;
  const quiet = quietest(samples, onsets, sampleRate);
  if (quiet === undefined || quiet.power === 0) return [];
  const { from, to } = quiet;
  // What the filters still give after the stretch is what they lack at its beginning.
  const rung = new Float64Array(to - from + Math.ceil(RINGING * sampleRate));
  rung.set(samples.subarray(from, to));
  const end = rung.length;
  const { bands } = scope.framesOf({ samples: rung, sampleRate, onset: 0, end, hasEnded: false });
  const frames = (to - from) / (FRAME_SECONDS * sampleRate);
  return bands.map((powers) => powers.reduce((sum, one) => sum + one, 0) / frames);
}

interface Quiet {
  readonly from: number;
  readonly to: number;
  readonly power: number;
}

/** The quietest stretch without a hit, if it is steady: before a hit, or at the end of the recording. */
function quietest(
  samples: Float64Array,
  onsets: readonly number[],
  sampleRate: number,
): Quiet | undefined {
  const clear = Math.round(CLEAR * sampleRate);
  const [least, most] = [QUIET.least * sampleRate, QUIET.most * sampleRate];
  const stretch = (after: number, end: number): Quiet[] => {
    const to = end;
    const from = Math.round(Math.max(after, to - most));
    if (to - from < least) return [];
    return [{ from, to, power: powerIn(samples, from, to) }];
  };
  const [first = 0] = onsets;
  const leading = stretch(0, first - clear);
  const others = onsets.map((onset, index) => {
    const next = onsets[index + 1];
    const end = next === undefined ? samples.length : next - clear;
    // The second half of the time between two hits is quieter than the first.
    return stretch((onset + end) / 2, end);
  });
  const all = [...leading, ...others.flat()].filter((one) => isSteady(samples, one));
  return all.sort((a, b) => a.power - b.power)[0];
}

function isSteady(samples: Float64Array, { from, to, power }: Quiet): boolean {
  if (power === 0) return true;
  const middle = Math.round((from + to) / 2);
  const [early, late] = [powerIn(samples, from, middle), powerIn(samples, middle, to)];
  return Math.abs(10 * Math.log10(early / late)) < STEADY_DB;
}

function powerIn(samples: Float64Array, from: number, to: number): number {
  let sum = 0;
  const first = Math.max(0, from);
  for (let n = first; n < to; n++) sum += (samples[n] as number) ** 2;
  return to > first ? sum / (to - first) : 0;
}
