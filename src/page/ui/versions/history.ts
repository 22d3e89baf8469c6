/** What can be undone: the texts as they were, for the texts are the one truth. */

import type { PatchTexts } from '../../../patch/texts.ts';
import { type Act, isOneGesture } from './gestures.ts';

export interface UndoHistory {
  readonly past: readonly PatchTexts[];
  readonly future: readonly PatchTexts[];
  /** The last change; those that a hand makes in one go are one step back. */
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
