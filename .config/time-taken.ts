/**
 * What a test file takes, its imports included, goes with its results to the budget (`.config/budget.ts`). Vitest
 * loads this before every test file.
 */

import { afterAll } from 'vitest';
import { processorTime } from './processor-time.ts';

declare module 'vitest' {
  interface TaskMeta {
    /** ms of processor time, with all that was started. */
    processorTime?: number;
  }
}

const before = processorTime();

// Vitest looks at the text of this function for what it asks for: of the first, nothing.
// biome-ignore lint/correctness/noEmptyPattern: as it has to be written
afterAll(({}, { file }) => {
  file.meta.processorTime = processorTime() - before;
});
