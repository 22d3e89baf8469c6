/** The entry of the thread that draws block diagrams: one after another, each for the text that asks for it. */

import { parentPort } from 'node:worker_threads';
import type { BlockFigure } from '../../output/diagram/figures.ts';
import { diagramBody } from '../../output/sheet/diagrams.ts';

/** What comes back for the figures of a patch, as JSON. */
export interface Drawn {
  readonly figures: string;
  /** Absent if they could not be laid out. */
  readonly markup?: string;
  readonly failure?: string;
}

async function draw(figures: string): Promise<Drawn> {
  try {
    return { figures, markup: await diagramBody(JSON.parse(figures) as BlockFigure[]) };
  } catch (error) {
    return { figures, failure: error instanceof Error ? error.message : String(error) };
  }
}

let before = Promise.resolve();
parentPort?.on('message', (figures: string) => {
  before = before.then(async () => parentPort?.postMessage(await draw(figures)));
});
