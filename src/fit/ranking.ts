/**
 * Which of several voices is of a recording's kind: they are ordered by measures of each voice, as it is and in
 * the recording's size, since a fitted distance alone favours voices with many settings. Drums of one kind are large
 * and small: all frequencies of a smaller one are higher, and its times shorter. The nearest are fitted, to find how
 * near each can come.
 */

import {
  type DrumKind,
  drumKind,
  type KindDistance,
  kindDistance,
} from '../measure/likeness/drum-kind.ts';
import { lookAt } from '../measure/likeness/hit-look.ts';
import { comparedWith } from '../measure/likeness/hit-spans.ts';
import { type Fit, type FitRequest, fewestTries, fitPatch, reread } from './fit.ts';
import { voiceOf } from './path.ts';
import { reportedHit } from './play.ts';
import { FitError, type Knob, movedBy } from './settings.ts';
import { type SizeRatio, sizeRatio, valuesAt } from './starts.ts';
import { withValues } from './write.ts';

/** A voice that may be the one of the recording. */
export interface Candidate extends Pick<FitRequest, 'written' | 'channel' | 'knobs'> {
  /** The file, and the channel where it has several. */
  readonly name: string;
}

export interface Ranked {
  readonly candidate: Candidate;
  /** How far the voice, unfitted, is from the recording's kind of drum, in the size in which it is nearest. */
  readonly kind: KindDistance;
  /** Undefined for those that are not among the nearest in kind. */
  readonly fit: Fit | undefined;
}

export interface Ranking {
  /** The nearest in kind first. */
  readonly ranked: readonly Ranked[];
  /** Voices that could not be compared, and why. */
  readonly leftOut: readonly { readonly name: string; readonly why: string }[];
  /** How many were made to tell. */
  readonly renders: number;
}

/** Voices that are fitted: those nearest in kind. */
const FITTED = 4;

/** Renders for each voice: with fewer, voices with many settings would be judged by their starting values. */
const TRIES = 120;

/** A voice keeps its character: in a ranking a setting moves by at most this factor, up or down. */
const STAYS = 2;
/** Renders in another size: the second knows how far the first came. */
const SIZES = 2;
/** What such a factor counts, where two of one kind differ by 1. Chosen by trial, no source. */
const SIZE_COST = 0.8;

/** The settings with their narrowed ranges. */
function near(knobs: readonly Knob[]): readonly Knob[] {
  return knobs.map((knob) => {
    const { before, low, high, isRatio } = knob;
    if (!isRatio || !(before > low && before < high)) return knob;
    return { ...knob, low: Math.max(low, before / STAYS), high: Math.min(high, before * STAYS) };
  });
}

type RankRequest = Omit<FitRequest, keyof Candidate | 'tries'>;

/** Ranks voices. If stopped, only those fitted by then are ranked. */
export async function rankedVoices(
  candidates: readonly Candidate[],
  request: RankRequest,
): Promise<Ranking> {
  const { isStopped, breathe, onProgress } = request;
  const ranked: Ranked[] = [];
  const leftOut: { name: string; why: string }[] = [];
  const orLeftOut = async <T>(name: string, work: () => Promise<T>): Promise<T | undefined> => {
    try {
      if (!isStopped()) return await work();
      leftOut.push({ name, why: 'not reached before it was stopped' });
    } catch (error) {
      if (!(error instanceof FitError)) throw error;
      leftOut.push({ name, why: error.message });
    }
    return undefined;
  };
  const measured: Omit<Ranked, 'fit'>[] = [];
  let renders = 0;
  for (const candidate of candidates) {
    await breathe();
    const kind = await orLeftOut(candidate.name, async () =>
      nearestKind(candidate, request, () => {
        renders += 1;
      }),
    );
    if (kind !== undefined) measured.push({ candidate, kind });
  }
  measured.sort((a, b) => a.kind.distance - b.kind.distance);
  const triesOf = ({ knobs }: Candidate): number => Math.max(TRIES, fewestTries(knobs.length));
  const total = measured
    .slice(0, FITTED)
    .reduce((sum, { candidate }) => sum + triesOf(candidate), 0);
  let done = 0;
  for (const { candidate, kind } of measured) {
    if (ranked.length >= FITTED) {
      ranked.push({ candidate, kind, fit: undefined });
      continue;
    }
    const fit = await orLeftOut(candidate.name, () =>
      fitPatch({
        ...request,
        ...candidate,
        knobs: near(candidate.knobs),
        tries: triesOf(candidate),
        onProgress: (tries) => onProgress(Math.min(total, done + tries), total),
      }),
    );
    done += triesOf(candidate);
    renders += fit?.tries ?? 0;
    if (fit !== undefined) ranked.push({ candidate, kind, fit });
  }
  return { ranked, leftOut, renders };
}

/** How far a voice is in kind, in the size in which it is nearest. @throws FitError if it makes no hit. */
function nearestKind(
  candidate: Candidate,
  request: RankRequest,
  onRender: () => void,
): KindDistance {
  const { recording } = request;
  let size: SizeRatio = { times: 0, frequencies: 0 };
  let best: KindDistance | undefined;
  for (let sizes = 0; sizes <= SIZES; sizes++) {
    const own = kindOf(candidate, request, size);
    onRender();
    if (own === null) break;
    const kind = kindDistance(recording.kind, own);
    const cost = (SIZE_COST * Math.hypot(size.times, size.frequencies)) / Math.log(STAYS);
    const distance = Math.hypot(kind.distance, cost);
    if (best === undefined || distance < best.distance) best = { ...kind, distance };
    const { times, frequencies } = sizeRatio(recording.kind, own);
    size = { times: stays(size.times + times), frequencies: stays(size.frequencies + frequencies) };
  }
  if (best !== undefined) return best;
  throw new FitError(
    `${candidate.written.main}: it makes no sound that sets in, so there is no hit to compare.`,
  );
}

function stays(by: number): number {
  return Math.max(-Math.log(STAYS), Math.min(Math.log(STAYS), by));
}

/** What kind of drum a voice is in a size; null if it makes no hit. */
function kindOf(
  { written, channel, knobs }: Candidate,
  of: RankRequest,
  size: SizeRatio,
): DrumKind | null {
  const { scope, target, sound } = of.recording;
  const values = movedBy(knobs, valuesAt(knobs, size));
  const patch = reread(written, withValues(written, values, of), of);
  const played = reportedHit(voiceOf(patch, channel), {
    ...{ sampleRate: scope.sampleRate, channel },
    seconds: target.reportedSeconds,
  });
  const hit = played && comparedWith(played, sound);
  return hit ? drumKind(hit, lookAt(scope, hit)) : null;
}
