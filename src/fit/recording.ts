/** The average hit of a recording: found, freed from offset, and told from the noise around it. */

import { USUAL_RATE } from '../engine/usual-rate.ts';
import { Mixdown } from '../measure/mixdown.ts';
import { OffsetBlocker } from '../measure/offset-blocker.ts';
import type { SampleBlock, SampleSource } from '../measure/samples.ts';
import { SignalMeter } from '../measure/signal.ts';
import { smallest } from '../modules/dsp/extremes.ts';
import { FitError } from './fit-error.ts';
import { hitOnset } from './onset.ts';
import { FRAME, HitScope, type HitSpan, type Prepared } from './picture.ts';
import { Target } from './target.ts';

/** Rates that the engine takes, Hz. */
const RATES = [8000, 192_000] as const;
/** More of a recording is not needed, s, nor more hits: those that have the most time to themselves. */
const LONGEST = 60;
const MOST_HITS = 16;
/** A hit is followed for so long, s. */
const LONGEST_HIT = 4;
const SHORTEST = 0.03;
/** No sound, dBFS. */
const SILENCE_DB = -80;
/** Before a hit this much is left out of the noise, s, and this much of it is enough. */
const CLEAR = 0.006;
const QUIET = { least: 0.05, most: 0.4 };
/** Noise that changes by more than this from its first half to its second is the tail of a sound, dB. */
const STEADY_DB = 1.5;
/** A recording cut this far down has ended by itself, dB, and is as good as silent from there on. */
const ENDED_DB = 40;
const AFTER_END = 0.1;

/** Samples that are looked at together. */
const CHUNK = 4096;

export interface FitSource extends Omit<SampleSource, 'blocks'> {
  readonly blocks: Iterable<SampleBlock>;
}

export interface RecordedHits {
  readonly scope: HitScope;
  readonly target: Target;
  /** Found, and of these used. */
  readonly found: number;
  readonly used: number;
  /** How long its longest hit is, until the next one or the end, s. */
  readonly longest: number;
  /** s that were looked at, and whether there are more. */
  readonly seconds: number;
  readonly isLonger: boolean;
  readonly isClipped: boolean;
  /** Whether the recording ends, or the next hit comes, before the sound is 40 dB down. */
  readonly isCut: boolean;
}

/**
 * Finds the average hit of a recording.
 * @param name of the recording, for messages.
 * @throws FitError if it has no hit that a render could be compared with.
 */
export function recordedHits(source: FitSource, name: string): RecordedHits {
  const { sampleRate } = source;
  const [least, most] = RATES;
  if (!(sampleRate >= least && sampleRate <= most && Number.isInteger(sampleRate)))
    throw new FitError(
      `${name}: its sample rate is ${sampleRate} Hz, and a patch is rendered at ${least} to ${most} Hz. Convert the recording, for instance to ${USUAL_RATE} Hz.`,
    );
  const { samples, meter, isLonger } = read(source);
  const measures = meter.finish();
  if (measures.peakDbfs === null || measures.peakDbfs < SILENCE_DB)
    throw new FitError(
      `${name}: it is silent${isLonger ? ` for its first ${LONGEST} s` : ''}. Record a hit, well above the noise.`,
    );
  if (samples.length < SHORTEST * sampleRate)
    throw new FitError(
      `${name}: it is ${((1000 * samples.length) / sampleRate).toFixed(1)} ms long, too short to compare. Record the hit until it has died away.`,
    );
  const onsets = measures.onsets.map((time) => Math.round(time * sampleRate));
  if (onsets.length === 0)
    throw new FitError(
      `${name}: no hit was found: nothing in it sets in. Record a hit with a little silence before it.`,
    );
  const quiet = quietest(samples, onsets, sampleRate);
  const spans = spansOf(samples, onsets, { sampleRate, isSilent: quiet?.power === 0 });
  const used = spans
    .toSorted((a, b) => lengthOf(b) - lengthOf(a) || a.onset - b.onset)
    .slice(0, MOST_HITS);
  const longest = used[0] as HitSpan;
  if (lengthOf(longest) < SHORTEST * sampleRate)
    throw new FitError(
      `${name}: the longest of its hits has ${((1000 * lengthOf(longest)) / sampleRate).toFixed(0)} ms until the next, too short to compare. Record single hits.`,
    );
  const scope = new HitScope(sampleRate);
  const sound = scope.prepare(samples);
  const frames = Math.ceil(lengthOf(longest) / (FRAME * sampleRate)) + 1;
  const picture = scope.average(sound, used, { lead: 0, frames });
  const target = new Target(picture, floorOf(scope, sound, quiet), scope);
  return {
    scope,
    target,
    found: onsets.length,
    used: used.length,
    longest: lengthOf(longest) / sampleRate,
    seconds: samples.length / sampleRate,
    isLonger,
    isClipped: measures.hits.some(({ reasons }) =>
      [reasons.attack, reasons.decay].includes('clipped'),
    ),
    isCut: target.frames >= smallest(picture.known),
  };
}

function lengthOf({ onset, end }: HitSpan): number {
  return end - onset;
}

function read(source: FitSource) {
  const { sampleRate, channels } = source;
  const most = LONGEST * sampleRate;
  const meter = new SignalMeter(sampleRate, channels, { tempo: false, hitSpectra: false });
  const mixdown = new Mixdown(channels, CHUNK);
  const blocker = new OffsetBlocker(sampleRate, CHUNK);
  const pieces: Float64Array[] = [];
  let length = 0;
  let isLonger = false;
  for (const { channels: given, frames } of source.blocks) {
    const count = Math.min(frames, most - length);
    isLonger ||= count < frames;
    for (let from = 0; from < count; from += CHUNK) {
      const size = Math.min(CHUNK, count - from);
      const chunk = given.map((channel) => Float64Array.from(channel.subarray(from, from + size)));
      meter.add({ channels: chunk, frames: size });
      pieces.push(blocker.run(mixdown.run(chunk, size), size).slice(0, size));
    }
    length += count;
    if (isLonger) break;
  }
  const samples = new Float64Array(length);
  let at = 0;
  for (const piece of pieces) {
    samples.set(piece, at);
    at += piece.length;
  }
  return { samples, meter, isLonger };
}

/** From each onset to the next; the last to the end, and beyond if the sound is over by then. */
function spansOf(
  samples: Float64Array,
  onsets: readonly number[],
  { sampleRate, isSilent }: { readonly sampleRate: number; readonly isSilent: boolean },
): readonly HitSpan[] {
  const back = Math.round(0.005 * sampleRate);
  const longest = Math.round(LONGEST_HIT * sampleRate);
  const spans = onsets.map((near, index) => {
    const next = onsets[index + 1] ?? samples.length;
    const from = Math.max(0, near - back);
    const onset = hitOnset(samples, { from, to: next, sampleRate });
    return { onset, end: Math.min(next, onset + longest) };
  });
  const last = spans.at(-1) as HitSpan;
  const hasEnded =
    isSilent || powerIn(samples, samples.length - back, samples.length) <= endedAt(samples, last);
  if (last.end < samples.length || !hasEnded) return spans;
  return [...spans.slice(0, -1), { ...last, end: last.end + Math.round(AFTER_END * sampleRate) }];
}

function endedAt(samples: Float64Array, { onset }: HitSpan): number {
  let peak = 0;
  for (let n = onset; n < samples.length; n++) peak = Math.max(peak, (samples[n] as number) ** 2);
  return (peak / 2) * 10 ** (-ENDED_DB / 10);
}

interface Quiet {
  readonly from: number;
  readonly to: number;
  readonly power: number;
}

/** The quietest stretch without a hit, if it is steady: what comes before a hit, or ends the recording. */
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

function floorOf(scope: HitScope, sound: Prepared, quiet: Quiet | undefined): readonly number[] {
  if (quiet === undefined) return scope.windows.map(() => 0);
  return scope.level(sound, quiet.from, quiet.to);
}
