/** Moves settings of a patch until its hit sounds like the hit of a recording. */

import { readVariant, type WrittenPatch } from '../compare/variant.ts';
import { smallest } from '../modules/dsp/extremes.ts';
import type { Patch } from '../patch/patch.ts';
import { FitError } from './fit-error.ts';
import { type VoiceChannel, voiceAlone, voiceChannels } from './path.ts';
import type { HitPicture } from './picture.ts';
import { playedHits } from './play.ts';
import type { RecordedHits } from './recording.ts';
import { polish, type Search, scan } from './search.ts';
import { boundsOf, coordinateOf, type Knob, movedBy10, textOf, valueAt } from './settings.ts';
import { LAGS, type Target } from './target.ts';

export interface FitRequest {
  readonly written: WrittenPatch;
  readonly recording: RecordedHits;
  readonly channel: VoiceChannel | undefined;
  readonly knobs: readonly Knob[];
  /** The most renders. */
  readonly tries: number;
  /** Whether levels are made alike before they are compared. */
  readonly isLevelled: boolean;
  readonly onProgress: (done: number, total: number) => void;
  /** Lets the world in between two renders. */
  readonly breathe: () => Promise<void>;
  /** Once true, the fit ends with the best so far. */
  readonly isStopped: () => boolean;
}

export interface FittedSetting {
  readonly knob: Knob;
  readonly after: number;
  /**
   * By how many dB the distance rises if the setting is moved by 10 %, the easier way; for one that
   * is not a ratio, by 10 % of its range. Null if it was not found out.
   */
  readonly riseDb: number | null;
  /** Whether the recording decides it; null if that was not found out. */
  readonly isDecided: boolean | null;
  /** Which end of its range it came to, if it did. */
  readonly end: 'low' | 'high' | null;
}

export interface Fit {
  readonly settings: readonly FittedSetting[];
  readonly distanceBefore: number;
  readonly distanceAfter: number;
  readonly tries: number;
  readonly isStopped: boolean;
}

/** A setting whose move by 10 % makes less difference than this is not decided, dB. */
const DECIDED = 0.02;
/** A setting goes back to what it was if that costs no more than this, dB, or this share. */
const NO_WORSE = { db: 0.01, share: 0.03 };
/** Looking at each setting by itself may use about this share of all renders. */
const SCAN_SHARE = 0.45;
/** The first search may use this share of all renders; the second knows what need not be moved. */
const FIRST_SHARE = 0.75;
/** Renders a setting that are kept for finding out how sharply it is decided. */
const RESERVED = 3;

/** The fewest renders that find anything for so many settings. */
export function fewestTries(settings: number): number {
  return 10 * settings + 10;
}

/**
 * Chooses the channel that is played.
 * @param asked its name, or `module.channel`.
 * @returns undefined if no channel leads to the output, so that the patch is played as it is.
 * @throws FitError if it is not clear which, or there is none of that name.
 */
export function channelOf(patch: Patch, asked: string | undefined): VoiceChannel | undefined {
  const channels = voiceChannels(patch);
  const names = channels.map(({ name }) => name).join(', ');
  if (asked === undefined) {
    if (channels.length < 2) return channels[0];
    throw new FitError(
      `${patch.file}: several channels are heard in this patch (${names}), and the recording is of one of them. Say which with --channel, such as --channel ${channels[0]?.name}.`,
    );
  }
  const found = channels.find(
    ({ module, name }) => name === asked || `${module}.${name}` === asked,
  );
  if (found !== undefined) return found;
  throw new FitError(
    `--channel ${asked}: no such channel leads to the output. ${names === '' ? 'The patch has none that does.' : `Those that do: ${names}.`}`,
  );
}

/** The mean picture of a patch's hits; undefined if it makes none. */
function pictureOf(patch: Patch, { recording, channel }: FitRequest): HitPicture | undefined {
  const { scope, target } = recording;
  const isAlone = channel !== undefined && voiceChannels(patch).length > 1;
  const { samples, hits } = playedHits(isAlone ? voiceAlone(patch, channel) : patch, {
    sampleRate: scope.sampleRate,
    channel,
    seconds: target.seconds,
  });
  if (hits.length === 0) return undefined;
  return scope.average(scope.prepare(samples), hits, {
    lead: LAGS,
    frames: target.frames + 2 * LAGS,
  });
}

/**
 * Fits.
 * @throws FitError if the patch as it is makes no hit that can be compared.
 */
export async function fitPatch(request: FitRequest): Promise<Fit> {
  const { knobs, isStopped } = request;
  const tries = new Tries(request);
  const own = knobs.map(({ before }) => before);
  const isInside = knobs.map(({ before, low, high }) => before >= low && before <= high);
  const distanceBefore = await (isInside.every((one) => one) ? tries.at(own) : tries.aside(own));
  if (!Number.isFinite(distanceBefore))
    throw new FitError(
      `${request.written.file}: the patch as it is makes no sound that sets in, so there is no hit to compare. Listen to it with "forehear render".`,
    );
  const bounds = knobs.map(boundsOf);
  const within = (share: number): Search => ({
    bounds,
    evaluate: (place) => tries.at(knobs.map((knob, axis) => valueAt(knob, place[axis] as number))),
    isOver: () => isStopped() || tries.done >= share * request.tries - RESERVED * knobs.length,
  });
  const best = () => ({
    place: knobs.map((knob, axis) => coordinateOf(knob, tries.best.values[axis] as number)),
    value: tries.best.db,
  });
  const { axes } = await scan(
    within(1),
    knobs.map((knob) => coordinateOf(knob, knob.before)),
    Math.floor((SCAN_SHARE * request.tries) / knobs.length),
  );
  await polish(within(FIRST_SHARE), best(), axes);
  for (const [axis, { before }] of knobs.entries())
    if (isInside[axis] && !isStopped()) await tries.preferred(tries.best.values.with(axis, before));
  const moved = axes.filter((axis) => tries.best.values[axis] !== own[axis]);
  if (moved.length < axes.length) await polish(within(1), best(), moved);

  const settings: FittedSetting[] = [];
  for (const axis of knobs.keys()) settings.push(await fitted(tries, axis, request));
  return {
    settings,
    distanceBefore,
    distanceAfter: tries.best.db,
    tries: tries.done,
    isStopped: isStopped(),
  };
}

async function fitted(
  tries: Tries,
  axis: number,
  { knobs, isStopped }: FitRequest,
): Promise<FittedSetting> {
  const knob = knobs[axis] as Knob;
  const { values, db } = tries.best;
  const after = values[axis] as number;
  const rises: number[] = [];
  for (const moved of isStopped() ? [] : movedBy10(knob, after))
    rises.push((await tries.aside(values.with(axis, moved))) - db);
  const riseDb = rises.length > 0 && !isStopped() ? Math.max(0, smallest(rises)) : null;
  const end = after <= knob.low ? 'low' : after >= knob.high ? 'high' : null;
  return {
    knob,
    after,
    riseDb,
    isDecided: riseDb === null ? null : riseDb >= DECIDED,
    end: after === knob.before ? null : end,
  };
}

interface Tried {
  readonly values: readonly number[];
  readonly db: number;
}

/** The renders of a fit, and the best of them. */
class Tries {
  done = 0;
  best: Tried = { values: [], db: Number.POSITIVE_INFINITY };
  private readonly request: FitRequest;
  private target: Target | undefined;
  private readonly known = new Map<string, number>();

  constructor(request: FitRequest) {
    this.request = request;
  }

  /** The distance with these values; the best is remembered. */
  async at(values: readonly number[]): Promise<number> {
    const db = await this.aside(values);
    if (this.best.values.length === 0 || db < this.best.db) this.best = { values, db };
    return db;
  }

  /** Takes these values for the best if they are hardly worse. */
  async preferred(values: readonly number[]): Promise<void> {
    const db = await this.aside(values);
    if (db - this.best.db <= Math.max(NO_WORSE.db, NO_WORSE.share * this.best.db))
      this.best = { values, db };
  }

  async aside(values: readonly number[]): Promise<number> {
    const { knobs, written, tries, onProgress, breathe } = this.request;
    const set = knobs.map((knob, index) => `${knob.path}=${textOf(knob, values[index] as number)}`);
    const key = set.join();
    const before = this.known.get(key);
    if (before !== undefined) return before;
    // What is as it was stays as the file writes it, to the last digit.
    const changed = set.filter((_, index) => values[index] !== knobs[index]?.before);
    const { patch, problems } = readVariant(written, changed);
    if (patch === undefined)
      throw new FitError(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
    const picture = pictureOf(patch, this.request);
    // The first is the patch as it is.
    if (picture !== undefined) this.target ??= this.request.recording.target.knowing(picture);
    const db =
      picture === undefined || this.target === undefined
        ? Number.POSITIVE_INFINITY
        : this.target.distance(picture, this.request.isLevelled).db;
    this.known.set(key, db);
    this.done += 1;
    onProgress(Math.min(this.done, tries), tries);
    await breathe();
    return db;
  }
}
