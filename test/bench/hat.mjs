/** The closed hat: the engine against the same sums in one loop written by hand. */

import { Renderer } from '../../dist/engine/renderer.js';
import { seedsFor } from '../../dist/engine/seeds.js';
import { edges } from '../../dist/timing/edges.js';
import { rhythmSettings } from '../../dist/timing/settings.js';
import { leastTimes } from './clock.mjs';
import { fusedHat } from './fused-hat.mjs';
import { examplePatch } from './patches.mjs';

export const title = 'Engine against a hand-fused loop: the closed hat, 60 s at 48 kHz';

const RATE = 48_000;
const SECONDS = 60;
const BLOCK = 128;
const BLOCKS = Math.floor((SECONDS * RATE) / BLOCK);
/** Rounding of other orders of the same sums: full scale is 1. */
const SAME = 1e-12;

export function run() {
  const patch = examplePatch('closed-hat.yaml');
  const settings = (name) => patch.modules.find((module) => module.name === name).settings;
  const next = edges(rhythmSettings(settings('drums')), {
    sampleRate: RATE,
    seed: patch.seed,
    module: 'drums',
    until: SECONDS,
  });
  const played = [];
  for (let edge = next(); edge !== undefined; edge = next()) played.push(edge);

  const engine = () => {
    let at = 0;
    return new Renderer(patch, { sampleRate: RATE, edgesOf: () => () => played[at++] });
  };
  const fused = () =>
    fusedHat({
      rate: RATE,
      edges: played,
      seeds: seedsFor(patch.seed, 'hiss', 'noise'),
      noiseLevel: settings('hiss').level,
      cutoff: settings('bright').cutoff,
      q: settings('bright').q,
      envelope: settings('shape'),
      range: settings('level').range,
      accentLevel: settings('accent').level,
      accentOffset: settings('accent').offset,
    });

  compare(engine(), fused());
  const [engineTime, fusedTime] = leastTimes([
    () => {
      const renderer = engine();
      for (let i = 0; i < BLOCKS; i++) renderer.next();
    },
    () => fused()(BLOCKS),
  ]);
  const samples = BLOCKS * BLOCK;
  return [
    { what: 'hand-fused loop', value: fusedTime / samples, unit: 'ns/sample' },
    { what: 'engine', value: engineTime / samples, unit: 'ns/sample' },
    { what: 'engine : hand-fused loop', value: engineTime / fusedTime, limit: 1.5 },
  ];
}

/** Both must make the same sound, else the comparison means nothing. */
function compare(renderer, play) {
  play(BLOCKS, (block, index) => {
    renderer.next();
    for (let n = 0; n < BLOCK; n++) {
      const difference = Math.abs(block[n] - renderer.channels[0][n]);
      if (!(difference < SAME))
        throw new Error(`sample ${index * BLOCK + n} differs by ${difference}`);
    }
  });
}
