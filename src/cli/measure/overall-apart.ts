/** A file's overall figures, worked out in a thread of their own. */

import { Worker } from 'node:worker_threads';
import type { Overall } from '../../measure/overall.ts';

/**
 * Starts to measure a file.
 * @returns its figures, and a function that cancels the work.
 */
export function overallApart(file: string): {
  readonly figures: Promise<Overall>;
  readonly stop: () => void;
} {
  const worker = new Worker(new URL('./overall-worker.js', import.meta.url), { workerData: file });
  const figures = new Promise<Overall>((resolve, reject) => {
    worker.once('message', resolve);
    worker.once('error', reject);
    worker.once('exit', () => reject(new Error(`${file}: the figures of the whole did not come`)));
  });
  // A file that cannot be read is reported by the code that reads it for its hits.
  figures.catch(() => {});
  return { figures, stop: () => void worker.terminate() };
}
