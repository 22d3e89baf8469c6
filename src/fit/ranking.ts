/**
 * Which of several voices is of a recording's kind: they are ordered by measures of each voice as it is,
 * since a fitted distance alone favours voices with many settings. The nearest are fitted, to find how near
 * each can come.
 */

import {
  type DrumKind,
  drumKind,
  type KindDistance,
  kindDistance,
} from '../measure/likeness/drum-kind.ts';
import { lookAt } from '../measure/likeness/hit-look.ts';
import { comparedWith } from '../measure/likeness/hit-spans.ts';
import { fileText } from '../patch/texts.ts';
import { type Fit, type FitRequest, fewestTries, fitPatch, reread } from './fit.ts';
import { voiceOf } from './path.ts';
import { reportedHit } from './play.ts';
import type { RecordedHits } from './recording.ts';
import type { Knob } from './settings.ts';
import { FitError } from './settings.ts';

/** A voice that may be the one of the recording. */
export interface Candidate extends Pick<FitRequest, 'written' | 'channel' | 'knobs'> {
  /** The file, and the channel where it has several. */
  readonly name: string;
}

export interface Ranked {
  readonly candidate: Candidate;
  /** How far the voice, unfitted, is from the recording's kind of drum. */
  readonly kind: KindDistance;
  /** Undefined for those that are not among the nearest in kind. */
  readonly fit: Fit | undefined;
}

export interface Ranking {
  /** The nearest in kind first. */
  readonly ranked: readonly Ranked[];
  /** Voices that could not be compared, and why. */
  readonly leftOut: readonly { readonly name: string; readonly why: string }[];
}

/** Voices that are fitted: those nearest in kind. */
const FITTED = 4;

/** Renders for each voice: with fewer, voices with many settings would be judged by their starting values. */
const TRIES = 120;

/** A voice keeps its character: in a ranking a setting moves by at most this factor, up or down. */
const STAYS = 2;

/** The settings with their narrowed ranges. */
function near(knobs: readonly Knob[]): readonly Knob[] {
  return knobs.map((knob) => {
    const { before, low, high, isRatio } = knob;
    if (!isRatio || !(before > low && before < high)) return knob;
    return { ...knob, low: Math.max(low, before / STAYS), high: Math.min(high, before * STAYS) };
  });
}

/** Ranks voices. If stopped, only those fitted by then are ranked. */
export async function rankedVoices(
  candidates: readonly Candidate[],
  request: Omit<FitRequest, keyof Candidate | 'tries'>,
): Promise<Ranking> {
  const { recording, isStopped, breathe, onProgress } = request;
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
  for (const candidate of candidates) {
    await breathe();
    const kind = await orLeftOut(candidate.name, async () => kindOf(candidate, recording));
    if (kind !== undefined) measured.push({ candidate, kind: kindDistance(recording.kind, kind) });
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
    if (fit !== undefined) ranked.push({ candidate, kind, fit });
  }
  return { ranked, leftOut };
}

/** What kind of drum a voice is, as it is. @throws FitError if it makes no hit. */
function kindOf({ written, channel }: Candidate, { scope, target, sound }: RecordedHits): DrumKind {
  const patch = reread(written, fileText(written, written.main) ?? '');
  const played = reportedHit(voiceOf(patch, channel), {
    ...{ sampleRate: scope.sampleRate, channel },
    seconds: target.reportedSeconds,
  });
  const hit = played && comparedWith(played, sound);
  const kind = hit && drumKind(hit, lookAt(scope, hit));
  if (kind) return kind;
  throw new FitError(
    `${written.main}: it makes no sound that sets in, so there is no hit to compare.`,
  );
}
