/** The entry of a worker: renders of a fit, made ahead of its search in another thread. */

import { parentPort } from 'node:worker_threads';
import { Target } from '../../fit/target.ts';
import { VoiceRenders } from '../../fit/voice-renders.ts';
import { BandScope } from '../../measure/likeness/band-frames.ts';
import { type Asked, CLAIM, type Made } from './render-thread.ts';

let renders: VoiceRenders | undefined;

parentPort?.on('message', (asked: Asked) => {
  if (asked.type === 'begin') {
    const { sampleRate, given, used, first, ...options } = asked;
    const target = new Target(given.chosen, given.typical, given.noise);
    const recording = { scope: new BandScope(sampleRate), target, used };
    renders = new VoiceRenders({ ...options, recording }, first);
    return;
  }
  const { batch, sets, claims } = asked;
  // The search begins at the other end.
  for (let index = sets.length - 1; index >= 0; index--) {
    if (Atomics.compareExchange(claims, index, CLAIM.free, CLAIM.apart) !== CLAIM.free) continue;
    const made = madeOf(sets[index] as readonly string[]);
    parentPort?.postMessage({ batch, index, made } satisfies Made);
  }
});

/** Null where it fails: it is then tried where its error is reported. */
function madeOf(set: readonly string[]): Made['made'] {
  try {
    return renders?.at(set) ?? null;
  } catch {
    return null;
  }
}
