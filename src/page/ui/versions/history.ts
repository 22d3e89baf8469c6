/** The undo history: the earlier texts, since the texts are the only source of truth. */

import type { PatchTexts } from '../../../patch/texts.ts';
import { type Act, isOneGesture } from './gestures.ts';

export interface UndoHistory {
  readonly past: readonly PatchTexts[];
  readonly future: readonly PatchTexts[];
  /** The last change; the changes of one gesture are undone together. */
  readonly last?: Act;
}

export const NO_HISTORY: UndoHistory = { past: [], future: [] };

/** Texts are shared between steps, so that many cost little. */
const MOST = 500;

/** Notes a change. @param before the texts it was made to. */
export function noted(history: UndoHistory, before: PatchTexts, act: Act): UndoHistory {
  const { past, last } = history;
  const isSame = last !== undefined && isOneGesture(last, act);
  return { past: isSame ? past : [...past, before].slice(-MOST), future: [], last: act };
}

/** Goes a step back. @param now the present texts. @returns undefined if there is no earlier step. */
export function undone(
  history: UndoHistory,
  now: PatchTexts,
): readonly [UndoHistory, PatchTexts] | undefined {
  const { past, future } = history;
  const files = past.at(-1);
  if (files === undefined) return undefined;
  return [{ past: past.slice(0, -1), future: [now, ...future] }, files];
}

/** Goes a step forward again. */
export function redone(
  history: UndoHistory,
  now: PatchTexts,
): readonly [UndoHistory, PatchTexts] | undefined {
  const { past, future } = history;
  const [files, ...later] = future;
  if (files === undefined) return undefined;
  return [{ past: [...past, now], future: later }, files];
}
