/** What a fit begins with: a voice built from the recording, or the nearest of several. */

import { dirname, relative } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import { builtVoice } from '../../fit/built/built.ts';
import type { Fit, FitRequest } from '../../fit/fit.ts';
import { limited, movable } from '../../fit/limits.ts';
import { voicePath } from '../../fit/path.ts';
import { type Candidate, type Ranking, rankedVoices } from '../../fit/ranking.ts';
import type { RecordedHits } from '../../fit/recording.ts';
import { knobsWith, readKnobs, usualKnobs } from '../../fit/settings.ts';
import { wrongRequest } from '../exit.ts';
import { interruptible } from '../interrupt.ts';
import { Progress } from '../progress.ts';
import type { RackOfFile } from '../read-rack.ts';
import { tell } from '../standard-output.ts';
import { concernsOf } from './concerns.ts';
import { RenderThread } from './render-thread.ts';

/** A voice that is fitted, and where it comes from. */
export interface Beginning extends Pick<FitRequest, 'written' | 'channel' | 'knobs'> {
  /** How many modules were built; absent for a patch that was given. */
  readonly built?: number;
  /** Whether building or choosing was stopped: then nothing more is moved. */
  readonly isStopped?: boolean;
  readonly ranking?: Ranking;
  /** Renders that were made to build it. */
  readonly renders?: number;
  /** The fit that is there already, if the choosing was stopped. */
  readonly fit?: Fit;
}

/**
 * Builds a voice.
 * @param place where it will be written; its rack is named from there.
 */
export async function builtBeginning(
  recording: RecordedHits,
  {
    name,
    place,
    rack,
    isQuiet,
  }: {
    readonly name: string;
    readonly place: string;
    readonly rack: RackOfFile | undefined;
    readonly isQuiet: boolean;
  },
): Promise<Beginning> {
  const folder = place === '-' ? '.' : dirname(place);
  const file = rack?.rack.file;
  const progress = new Progress('Building', isQuiet, 'steps');
  let isStopped = false;
  const stopped = (): void => {
    isStopped = true;
    tellStopping(isQuiet);
  };
  const { written, patch, channel, also, renders } = await interruptible(
    () =>
      builtVoice({
        recording,
        name,
        rack: file === undefined ? undefined : relative(folder, file).replaceAll('\\', '/'),
        texts: {
          main: place,
          set: [],
          texts: { [place]: '', ...(rack && { [rack.rack.file]: rack.text }) },
          ...(file !== undefined && { rack: file }),
        },
        concernsOf,
        onProgress: (done) => progress.show(done, undefined),
        breathe: () => setImmediate(),
        isStopped: () => isStopped,
      }),
    stopped,
  ).finally(() => progress.end());
  const usual = movable(usualKnobs(patch, voicePath(patch, channel)), patch);
  const fall = movable(readKnobs(also, patch), patch);
  const knobs = limited(knobsWith(usual, fall), patch, recording.longest);
  return { written, channel, knobs, built: patch.modules.length, renders, isStopped };
}

/** What a fit says at the first Ctrl-C: it ends some seconds later. */
export function tellStopping(isQuiet: boolean): void {
  if (!isQuiet)
    tell('Stopping: the best so far is written. Ctrl-C ends at once, and writes nothing.');
}

/** Chooses the nearest of several voices. @throws Stop if none can be compared. */
export async function chosenBeginning(
  recording: RecordedHits,
  candidates: readonly Candidate[],
  { isLevelled, isQuiet }: { readonly isLevelled: boolean; readonly isQuiet: boolean },
): Promise<Beginning> {
  const progress = new Progress('Choosing', isQuiet, 'tries');
  const second = RenderThread.open();
  try {
    return await interruptible(
      async (signal) => {
        const ranking = await rankedVoices(candidates, {
          ...{ recording, isLevelled, concernsOf, second },
          onProgress: (done, total) => progress.show(done, total),
          breathe: () => setImmediate(),
          isStopped: () => signal.aborted,
        });
        const [best] = ranking.ranked;
        if (best === undefined)
          throw wrongRequest(
            `None of the voices can be compared: ${ranking.leftOut.map(({ name, why }) => `${name}: ${why}`).join('; ')}`,
          );
        const { written, channel, knobs } = best.candidate;
        return {
          ...{ written, channel, knobs, ranking },
          ...(signal.aborted && best.fit && { fit: { ...best.fit, isStopped: true } }),
        };
      },
      () => tellStopping(isQuiet),
    );
  } finally {
    progress.end();
    await second?.close();
  }
}
