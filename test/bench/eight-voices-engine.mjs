/** Eight voices by the engine, in a process of its own: see eight-voices.mjs. Prints the same two numbers as eight-voices.c. */

import { Renderer } from '../../dist/engine/renderer.js';
import { processorTime } from './clock.mjs';
import { noiseVoices } from './patches.mjs';

const RATE = 48_000;
const BLOCK = 128;
const BLOCKS = 3750;
const patch = noiseVoices(8);

let least = Number.POSITIVE_INFINITY;
let sum = 0;
// One round first that is not counted, while V8 compiles what it will.
for (let round = 0; round <= Number(process.argv[2]); round++) {
  const renderer = new Renderer(patch, { sampleRate: RATE, edgesOf: () => () => undefined });
  sum = 0;
  const start = processorTime();
  for (let block = 0; block < BLOCKS; block++) {
    renderer.next();
    sum += renderer.channels[0][7];
  }
  if (round > 0) least = Math.min(least, (processorTime() - start) / (BLOCKS * BLOCK));
}
process.stdout.write(`${least} ${sum}\n`);
