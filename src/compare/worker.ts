/** Runs a task; the entry of a worker, which is handed them. */

import { OutputError } from '../files/output-error.ts';
import type { KindsOption } from '../modules/kinds.ts';
import { measureVariant } from './measure-variant.ts';
import { nullEach } from './nulled.ts';
import { storeVariant } from './store-variant.ts';
import type { Result, Task } from './task.ts';
import { writeVariant } from './write-variant.ts';

/** Errors lose their class between threads; the error that a file could not be written has to keep its own. */
export interface TaskAnswer {
  readonly result?: Result[Task['type']];
  readonly refused?: Pick<OutputError, 'path' | 'reason' | 'remedy' | 'byPath'>;
}

export default async function work(task: Task): Promise<TaskAnswer> {
  try {
    return { result: await runTask(task) };
  } catch (error) {
    if (!(error instanceof OutputError)) throw error;
    const { path, reason, remedy, byPath } = error;
    return { refused: { path, reason, remedy, byPath } };
  }
}

/** Runs a task. @throws what reading, rendering and writing throw. */
export async function runTask(task: Task, of: KindsOption = {}): Promise<Result[Task['type']]> {
  if (task.type === 'measure') return measureVariant(task, of);
  if (task.type === 'store') return storeVariant(task, of);
  if (task.type === 'write') return writeVariant(task, of);
  return nullEach(task);
}
