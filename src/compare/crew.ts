/** Who does the work: a pool of worker threads, or this thread alone. */

import { createRequire } from 'node:module';
import { OutputError } from '../files/output-error.ts';
import type { KindsOption } from '../modules/kinds.ts';
import type { Result, Task } from './task.ts';
import { runTask, type TaskAnswer } from './worker.ts';

export interface Crew {
  /** How many tasks are worked on at once. */
  readonly size: number;
  run<T extends Task>(task: T): Promise<Result[T['type']]>;
  close(): Promise<void>;
}

/**
 * Opens a pool of worker threads.
 * @param worker the script whose default export runs a task.
 */
export function workerCrew(worker: URL, size: number): Crew {
  // The command is a script that V8 has compiled beforehand, and such a script cannot import.
  const { Tinypool } = createRequire(import.meta.url)('tinypool') as typeof import('tinypool');
  const pool = new Tinypool({ filename: worker.href, minThreads: size, maxThreads: size });
  return {
    size,
    run: async <T extends Task>(task: T) => {
      const { result, refused }: TaskAnswer = await pool.run(task);
      if (refused === undefined) return result as Result[T['type']];
      throw new OutputError(refused.path, refused.reason, refused.remedy, refused.byPath);
    },
    close: () => pool.destroy(),
  };
}

/**
 * A crew that works in this thread, where kinds of one's own are: no definition goes to another thread, since it
 * holds functions.
 * @param size how many tasks it has at once, one unless given.
 */
export function ownCrew({ size = 1, kinds }: KindsOption & { readonly size?: number } = {}): Crew {
  return {
    size,
    run: <T extends Task>(task: T) =>
      runTask(task, kinds && { kinds }) as Promise<Result[T['type']]>,
    close: () => Promise.resolve(),
  };
}

/**
 * Runs a task for each item, as many at once as the crew can, until `isStopped`: tasks that have
 * begun then are finished, and the rest is left out.
 * @returns in the order of the items; undefined for those left out.
 */
export async function runAll<I, T extends Task>(
  crew: Crew,
  items: readonly I[],
  taskOf: (item: I, index: number) => T,
  { isStopped, onDone }: { readonly isStopped: () => boolean; readonly onDone: () => void },
): Promise<(Result[T['type']] | undefined)[]> {
  const results: (Result[T['type']] | undefined)[] = items.map(() => undefined);
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < items.length && !isStopped()) {
      const index = next++;
      try {
        results[index] = await crew.run(taskOf(items[index] as I, index));
      } catch (error) {
        // The other lanes need not go on, since their results would be dropped.
        next = items.length;
        throw error;
      }
      onDone();
    }
  };
  const lanes = Array.from({ length: crew.size }, lane);
  // All lanes end before a failure is thrown, so that no lane still writes then.
  const ends = await Promise.allSettled(lanes);
  for (const end of ends) if (end.status === 'rejected') throw end.reason;
  return results;
}
