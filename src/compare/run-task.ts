/** The worker's end of a task. */

import { measureVariant } from './measure-variant.ts';
import { nullEach } from './nulled.ts';
import { storeVariant } from './store-variant.ts';
import type { Result, Task } from './task.ts';
import { writeVariant } from './write-variant.ts';

/** Runs a task. @throws what reading, rendering and writing throw. */
export async function runTask(task: Task): Promise<Result[Task['type']]> {
  if (task.type === 'measure') return measureVariant(task);
  if (task.type === 'store') return storeVariant(task);
  if (task.type === 'write') return writeVariant(task);
  return nullEach(task);
}
