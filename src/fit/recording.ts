/** The average hit of a recording: found, without offset, drift and hum, and separated from the noise around it. */

import { USUAL_RATE } from '../engine/usual-rate.ts';
import { type Defect, defectsOf, whyNoHit } from '../measure/defects.ts';
import { EventMeter } from '../measure/hits/events.ts';
import type { TwoSlopes } from '../measure/hits/two-slopes.ts';
import { type BandFrames, BandScope, type HitSound } from '../measure/likeness/band-frames.ts';
import { type DrumKind, drumKind } from '../measure/likeness/drum-kind.ts';
import { heardFrames, hitDistance } from '../measure/likeness/hit-distance.ts';
import { type HitLook, lookAt, meanLook } from '../measure/likeness/hit-look.ts';
import { chosenHit, soundsFrom } from '../measure/likeness/hit-spans.ts';
import { noiseOf } from '../measure/likeness/noise.ts';
import { type Mends, mendedOf } from '../measure/mended.ts';
import { Mixdown } from '../measure/mixdown.ts';
import { OffsetBlocker } from '../measure/offset-blocker.ts';
import type { SampleBlock, SampleSource } from '../measure/samples.ts';
import { type Measures, SignalMeter } from '../measure/signal.ts';
import { FitError } from './settings.ts';
import { Target } from './target.ts';

/** Rates that the engine takes, Hz. */
const RATES = [8000, 192_000] as const;
/** The most of a recording that is used, s, and the most hits: those with the most time to themselves. */
const LONGEST = 60;
const MOST_HITS = 16;
/** Hits that differ from the chosen one by more are not averaged with it, dB: chance makes some 4. */
const ALIKE_DB = 6;
/** ... and neither are those that are cut off much sooner than the chosen one is heard. */
const LONG_ENOUGH = 0.7;
/** The shortest hit, s. */
const SHORTEST = 0.03;
/** A recording that ends this far under its loudest was trimmed there, not cut off, dB. */
const FADED_DB = 20;
/** Two onsets this close belong to one hit, s. */
const NEAR = 0.01;
/** Level of silence, dBFS. */
const SILENCE_DB = -80;
/** Samples that are looked at together. */
const CHUNK = 4096;
/** What is not needed of a recording's hits. */
const UNWANTED = { tempo: false, hitSpectra: false };

/** The blocks can be gone through more than once. */
export interface FitSource extends Omit<SampleSource, 'blocks'> {
  readonly blocks: Iterable<SampleBlock>;
}

export interface RecordedHits {
  readonly scope: BandScope;
  readonly target: Target;
  /** The hit that is reported on, and of what kind of drum it is. */
  readonly sound: HitSound;
  readonly kind: DrumKind;
  /** Its fast fall and the slow one after it; null if it has one slope, or that cannot be told. */
  readonly slopes: TwoSlopes | null;
  /** How many hits were found, and how many of these are used. */
  readonly found: number;
  readonly used: number;
  /** The hit that is reported on: its number, from 0, and its onset, s. */
  readonly chosen: { readonly index: number; readonly time: number };
  /** Its length, until the next one or the end, s. */
  readonly longest: number;
  /** The length that was analysed, s, and whether the recording is longer. */
  readonly seconds: number;
  readonly isLonger: boolean;
  /** Faults of the recording; a fit is made all the same. */
  readonly defects: readonly Defect[];
  /** Drift and hum that were taken out. */
  readonly mends: Mends | undefined;
  /** Whether the recording ends, or the next hit comes, before the sound is 40 dB down. */
  readonly isCut: boolean;
}

/**
 * Finds the average hit of a recording.
 * @param name of the recording, for messages.
 * @param bits of a sample; 0 for floating point, or where it is not known.
 * @throws FitError if it has no hit that a render could be compared with.
 */
export function recordedHits(source: FitSource, name: string, bits = 0): RecordedHits {
  const { sampleRate } = source;
  const [least, most] = RATES;
  if (!(sampleRate >= least && sampleRate <= most && Number.isInteger(sampleRate)))
    throw new FitError(
      `${name}: its sample rate is ${sampleRate} Hz, and a patch is rendered at ${least} to ${most} Hz. Convert the recording, for instance to ${USUAL_RATE} Hz.`,
    );
  const { samples, measures, mends, isLonger } = read(source);
  if (measures.peakDbfs === null || measures.peakDbfs < SILENCE_DB)
    throw new FitError(
      `${name}: it is silent${isLonger ? ` for its first ${LONGEST} s` : ''}. Record a hit, well above the noise.`,
    );
  if (samples.length < SHORTEST * sampleRate)
    throw new FitError(
      `${name}: it is ${((1000 * samples.length) / sampleRate).toFixed(1)} ms long, too short to compare. Record the hit until it has died away.`,
    );
  const onsets = measures.onsets.map((time) => Math.round(time * sampleRate));
  const defects = defectsOf(measures, bits, mends);
  if (onsets.length === 0) throw new FitError(`${name}: no hit was found. ${whyNoHit(defects)}`);
  const hits = soundsFrom(samples, sampleRate, onsets);
  const index = chosenHit(hits);
  const chosen = hits[index] as HitSound;
  const length = (chosen.end - chosen.onset) / sampleRate;
  if (length < SHORTEST)
    throw new FitError(
      `${name}: the longest of its hits has ${(1000 * length).toFixed(0)} ms until the next, too short to compare. Record single hits.`,
    );
  const onset = chosen.onset / sampleRate;
  const scope = new BandScope(sampleRate);
  const look = lookAt(scope, chosen);
  const kind = drumKind(chosen, look);
  if (kind === null)
    throw new FitError(
      `${name}: nothing of its hit is in the bands from 50 Hz to 16 kHz, which are compared.`,
    );
  const noise = noiseOf(scope, samples, onsets);
  const alike = alikeOf(hits, { index, scope, look, noise });
  const typical = meanLook([look, ...alike]);
  const isTrimmed = index === hits.length - 1 && !isLonger && hasFaded(look.frames);
  return {
    scope,
    target: new Target(look, isTrimmed ? ended(typical) : typical, noise),
    sound: chosen,
    kind,
    slopes: measures.hits.find(({ time }) => Math.abs(time - onset) < NEAR)?.slopes ?? null,
    found: hits.length,
    used: 1 + alike.length,
    chosen: { index, time: onset },
    longest: length,
    seconds: samples.length / sampleRate,
    isLonger,
    isCut: !chosen.hasEnded,
    defects,
    mends,
  };
}

/** Whether a hit is far down where it ends: cut off louder, it would have rung on. */
function hasFaded({ bands, frames }: BandFrames): boolean {
  const levelAt = (k: number): number =>
    bands.reduce((sum, powers) => sum + (powers[k] as number), 0);
  let most = 0;
  for (let k = 0; k < frames; k++) most = Math.max(most, levelAt(k));
  return levelAt(frames - 1) < most * 10 ** (-FADED_DB / 10);
}

/**
 * The same with silence after it. A trimmed recording is played like that, and a searched sound must not ring
 * on where the recording shows nothing.
 */
function ended({ frames, tonality }: HitLook): HitLook {
  return { frames: { ...frames, hasEnded: true }, tonality };
}

/** The other hits that sound like the chosen one, if they are as long. */
function alikeOf(
  hits: readonly HitSound[],
  {
    index,
    scope,
    look,
    noise,
  }: {
    readonly index: number;
    readonly scope: BandScope;
    readonly look: HitLook;
    readonly noise: readonly number[];
  },
): readonly HitLook[] {
  const heard = heardFrames(look.frames, noise);
  return hits
    .flatMap((hit, other) => {
      if (other === index) return [];
      const own = lookAt(scope, hit);
      if (own.frames.frames < LONG_ENOUGH * heard) return [];
      const db = hitDistance(look, own, { noise })?.db ?? Number.POSITIVE_INFINITY;
      return db <= ALIKE_DB ? [{ own, db }] : [];
    })
    .toSorted((a, b) => a.db - b.db)
    .slice(0, MOST_HITS - 1)
    .map(({ own }) => own);
}

interface OneChannel {
  /** One channel, without offset, drift and hum. */
  readonly samples: Float64Array;
  /** Of the hits those without drift and hum. */
  readonly measures: Measures;
  readonly mends: Mends | undefined;
  readonly isLonger: boolean;
}

function read({ sampleRate, channels, blocks }: FitSource): OneChannel {
  const meter = new SignalMeter(sampleRate, channels, UNWANTED);
  const { samples, isLonger } = heard(blocks, sampleRate, meter);
  const first = { samples, measures: meter.finish(), mends: undefined, isLonger };
  const start = () => firstOf(blocks, samples.length);
  const mended = mendedOf(start(), { ...first.measures, sampleRate, channels });
  if (mended === undefined) return first;
  const events = new EventMeter(sampleRate, channels, UNWANTED, mended.left);
  const without = heard(mended.blocks(start()), sampleRate, events);
  return {
    samples: without.samples,
    measures: { ...first.measures, ...events.finish() },
    mends: mended.mends,
    isLonger,
  };
}

function* firstOf(blocks: Iterable<SampleBlock>, most: number): Generator<SampleBlock> {
  let left = most;
  for (const { channels, frames } of blocks) {
    if (left === 0) return;
    const count = Math.min(frames, left);
    yield { channels, frames: count };
    left -= count;
  }
}

/** Hands a recording to a meter, and mixes it to one channel without offset. */
function heard(
  blocks: Iterable<SampleBlock>,
  sampleRate: number,
  meter: Pick<SignalMeter, 'add'>,
): Pick<OneChannel, 'samples' | 'isLonger'> {
  const most = LONGEST * sampleRate;
  const blocker = new OffsetBlocker(sampleRate, CHUNK);
  const pieces: Float64Array[] = [];
  let mixdown: Mixdown | undefined;
  let length = 0;
  let isLonger = false;
  for (const { channels: given, frames } of blocks) {
    mixdown ??= new Mixdown(given.length, CHUNK);
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
  return { samples, isLonger };
}
