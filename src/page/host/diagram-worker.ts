/** The entry of the thread that lays block diagrams out, one after another. */

import { parentPort } from 'node:worker_threads';
import type { BlockFigure } from '../../output/diagram/figures.ts';
import { placedInRows } from '../../output/diagram/folded.ts';
import type { PlacedFigure } from '../../output/diagram/layout.ts';
import { loadLibrary } from './diagram-library.ts';

/** Undefined for one that the library cannot lay out. */
export type Laid = PlacedFigure | undefined;

let keep = loadLibrary();

parentPort?.on('message', (figure: BlockFigure) => {
  placedInRows(figure).then(
    (laid: Laid) => {
      // Before the answer: whoever has the last one ends this thread.
      keep?.();
      keep = undefined;
      parentPort?.postMessage(laid);
    },
    () => parentPort?.postMessage(undefined),
  );
});
