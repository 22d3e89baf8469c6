/** Which of several voices comes nearest to a recording: each is fitted, and they are put in order. */

import { type Fit, type FitRequest, fewestTries, fitPatch } from './fit.ts';
import { FitError } from './fit-error.ts';
import type { Knob } from './settings.ts';

/** A voice that may be it. */
export interface Candidate extends Pick<FitRequest, 'written' | 'channel' | 'knobs'> {
  /** The file, and the channel where it has several. */
  readonly name: string;
}

export interface Ranked {
  readonly candidate: Candidate;
  readonly fit: Fit;
}

export interface Ranking {
  /** The nearest first. */
  readonly ranked: readonly Ranked[];
  /** Voices that could not be compared, and why. */
  readonly leftOut: readonly { readonly name: string; readonly why: string }[];
}

/** Renders that a voice is given: with fewer, those of many settings would be judged by where they began. */
const TRIES = 120;

/** A voice stays what it is: in a ranking a setting goes up to so many times what it was, or down. */
const STAYS = 2;

/** The settings with what is left of their ranges. */
function near(knobs: readonly Knob[]): readonly Knob[] {
  return knobs.map((knob) => {
    const { before, low, high, isRatio } = knob;
    if (!isRatio || !(before > low && before < high)) return knob;
    return { ...knob, low: Math.max(low, before / STAYS), high: Math.min(high, before * STAYS) };
  });
}

/** Fits every voice, and puts them in order. Stopped, it is of those that were fitted by then. */
export async function rankedVoices(
  candidates: readonly Candidate[],
  request: Omit<FitRequest, keyof Candidate | 'tries'>,
): Promise<Ranking> {
  const ranked: Ranked[] = [];
  const leftOut: { name: string; why: string }[] = [];
  const triesOf = ({ knobs }: Candidate): number => Math.max(TRIES, fewestTries(knobs.length));
  const total = candidates.reduce((sum, one) => sum + triesOf(one), 0);
  let before = 0;
  for (const candidate of candidates) {
    if (request.isStopped()) {
      leftOut.push({ name: candidate.name, why: 'not come to before it was stopped' });
      continue;
    }
    const start = before;
    before += triesOf(candidate);
    try {
      const fit = await fitPatch({
        ...request,
        ...candidate,
        knobs: near(candidate.knobs),
        tries: triesOf(candidate),
        onProgress: (done) => request.onProgress(start + done, total),
      });
      ranked.push({ candidate, fit });
    } catch (error) {
      if (!(error instanceof FitError)) throw error;
      leftOut.push({ name: candidate.name, why: error.message });
    }
  }
  return {
    ranked: ranked.toSorted((a, b) => a.fit.distanceAfter - b.fit.distanceAfter),
    leftOut,
  };
}
