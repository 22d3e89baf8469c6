/** The entry of a worker: runs the tasks that it is handed. */

import { OutputError } from '../files/output-error.ts';
import { runTask } from './run-task.ts';
import type { Result, Task } from './task.ts';

/** An error loses its class on the way between threads; that a file could not be written must not. */
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
