/** The entry of the thread that lays block diagrams out, one after another. */

import { parentPort } from 'node:worker_threads';
import type { BlockFigure } from '../../output/diagram/figures.ts';
import { placedInRows } from '../../output/diagram/folded.ts';
import type { PlacedFigure } from '../../output/diagram/layout.ts';

/** Undefined for one that the library cannot lay out. */
export type Laid = PlacedFigure | undefined;

parentPort?.on('message', (figure: BlockFigure) => {
  placedInRows(figure).then(
    (laid: Laid) => parentPort?.postMessage(laid),
    () => parentPort?.postMessage(undefined),
  );
});
