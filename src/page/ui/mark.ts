/** Marks the cable that a finding is about, in the list and in the diagrams. */

import type { FindingPlace, FindingView } from '../protocol.ts';
import type { Folds } from './folds.ts';

type CablePlace = Extract<FindingPlace, { type: 'cable' }>;

/** Marks the place of a finding, and removes the former mark. */
export function markPlace(told: FindingView | undefined): void {
  unmarkPlaces();
  if (told?.at.type !== 'cable') return;
  const { from, to } = told.at;
  for (const one of [...rowsOf(told.at), ...jacksOf([from, to])])
    one.dataset.finding = told.severity;
}

export function unmarkPlaces(): void {
  for (const one of document.querySelectorAll<HTMLElement>('[data-finding]'))
    delete one.dataset.finding;
}

/** Brings a cable into view, with the focus on its checkbox. */
export function focusCable(at: CablePlace, folds: Folds): void {
  const [row] = rowsOf(at);
  if (row !== undefined) folds.reveal(row);
  row?.querySelector('input')?.focus();
}

function rowsOf({ from, to }: CablePlace): readonly HTMLElement[] {
  const ticks = document.querySelectorAll(`[data-cable="${CSS.escape(`${from} ${to}`)}"]`);
  return [...ticks].flatMap((tick) => tick.closest('tr') ?? []);
}

function jacksOf(names: readonly string[]): readonly HTMLElement[] {
  return names.flatMap((name) => [
    ...document.querySelectorAll<HTMLElement>(`[data-jack="${CSS.escape(name)}"]`),
  ]);
}
