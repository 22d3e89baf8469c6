/** What can be undone: the texts as they were, for the texts are the one truth. */

import type { PatchTexts } from '../../../patch/texts.ts';

export interface UndoHistory {
  readonly past: readonly PatchTexts[];
  readonly future: readonly PatchTexts[];
  /** What the last change moved, and when, in ms: a drag is undone as a whole. */
  readonly last?: { readonly place: string; readonly time: number };
}

export const NO_HISTORY: UndoHistory = { past: [], future: [] };

/** Changes of one place that follow one another within this time, in ms, are one step back. */
const TOGETHER = 1000;
/** Texts are shared between steps, so that many cost little. */
const MOST = 500;

/** Notes a change. @param before the texts it was made to. */
export function noted(
  history: UndoHistory,
  before: PatchTexts,
  place: string,
  time: number,
): UndoHistory {
  const { past, last } = history;
  const isSame = last?.place === place && time - last.time < TOGETHER;
  return {
    past: isSame ? past : [...past, before].slice(-MOST),
    future: [],
    last: { place, time },
  };
}

/** Goes a step back. @param now the texts as they are. Nothing if there is nowhere to go. */
export function undone(
  history: UndoHistory,
  now: PatchTexts,
): readonly [UndoHistory, PatchTexts] | undefined {
  const { past, future } = history;
  const files = past.at(-1);
  if (files === undefined) return undefined;
  return [{ past: past.slice(0, -1), future: [now, ...future] }, files];
}

/** Goes a step forth again. */
export function redone(
  history: UndoHistory,
  now: PatchTexts,
): readonly [UndoHistory, PatchTexts] | undefined {
  const { past, future } = history;
  const [files, ...later] = future;
  if (files === undefined) return undefined;
  return [{ past: [...past, now], future: later }, files];
}
