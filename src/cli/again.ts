/** Does a piece of work for a patch, and again whenever its files have changed. */

import { OutputError } from '../files/output-error.ts';
import type { Patch } from '../patch/patch.ts';
import { Stop, wrongRequest } from './exit.ts';
import { problemsStop } from './read-patch.ts';
import { reportError } from './report-error.ts';
import { PatchWatch, type Seen } from './watch.ts';

export interface AgainOptions {
  readonly set: readonly string[];
  readonly rack?: string | undefined;
  /** Whether errors are printed as data too. */
  readonly isJson: boolean;
  /** Ends the repetition and the work in progress. */
  readonly signal: AbortSignal;
}

/**
 * Does `work` until the signal. Only the newest files matter: a change aborts the work in progress
 * by its signal. An error that a person can mend is printed on standard error, and the watch goes on.
 * @throws Stop if the file cannot be read at the start, and what `work` throws that is our mistake.
 */
export async function again(
  file: string,
  { set, rack, isJson, signal }: AgainOptions,
  work: (patch: Patch, signal: AbortSignal) => Promise<void>,
): Promise<void> {
  if (file === '-') throw wrongRequest('--watch: standard input does not change. Give a file.');
  let outdated = new AbortController();
  let next: Seen | undefined;
  let wake = (): void => {};
  const watch = new PatchWatch(file, {
    set,
    rack,
    onChange: (seen) => {
      next = seen;
      outdated.abort(new Outdated());
      wake();
    },
  });
  next = watch.first;
  signal.addEventListener('abort', () => wake());
  try {
    while (!signal.aborted) {
      const seen = next;
      next = undefined;
      if (seen === undefined) {
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
        continue;
      }
      outdated = new AbortController();
      try {
        await work(patchOf(seen), AbortSignal.any([signal, outdated.signal]));
      } catch (error) {
        outlive(error, isJson, signal);
      }
    }
  } finally {
    watch.close();
  }
}

/** The reason why work is aborted when newer files have made it needless. */
class Outdated extends Error {}

function patchOf(seen: Seen): Patch {
  if (seen instanceof Stop) throw seen;
  if (seen.patch !== undefined) return seen.patch;
  throw problemsStop(seen.problems, seen.texts);
}

function outlive(error: unknown, isJson: boolean, { aborted, reason }: AbortSignal): void {
  if (error instanceof Outdated || (aborted && error === reason)) return;
  if (!(error instanceof Stop || error instanceof OutputError)) throw error;
  reportError(error, isJson);
}
