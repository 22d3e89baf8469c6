/**
 * The volts of a net while nothing plays, as the engine has them: the patch run for a moment with a rhythm that
 * never starts. It tells a gate that idles low from one that idles high, whatever stands in between.
 */

import type { Prepared } from '../engine/prepared.ts';
import { BLOCK, Renderer } from '../engine/renderer.ts';
import type { JackRef } from '../patch/patch.ts';
import { unplayable } from '../patch/texts.ts';

/** Hz; the lowest that the engine takes, since nothing here is heard. */
const RATE = 8000;
/** Blocks of the engine, 0.26 s: longer than a pulse or delay of usual length takes to end. */
const BLOCKS = 16;
/** V; nets that move less than this stand still. */
const STILL = 1e-3;

/**
 * Finds the resting volts of jacks.
 * @returns V for each, undefined where the voltage keeps moving, as a free-running clock's does, or
 *   where the patch cannot run because it has not exactly one output.
 */
export function voltsAtRest(of: Prepared, jacks: readonly JackRef[]): (number | undefined)[] {
  if (jacks.length === 0 || unplayable(of.patch).length > 0) return jacks.map(() => undefined);
  const renderer = new Renderer(of, {
    sampleRate: RATE,
    edgesOf: () => () => undefined,
    probes: jacks,
  });
  const low = jacks.map(() => Number.POSITIVE_INFINITY);
  const high = jacks.map(() => Number.NEGATIVE_INFINITY);
  for (let block = 0; block < BLOCKS; block++) {
    renderer.next();
    // The first half is for what has to come to rest.
    if (block < BLOCKS / 2) continue;
    renderer.probes.forEach((volts, index) => {
      for (let i = 0; i < BLOCK; i++) {
        low[index] = Math.min(low[index] as number, volts[i] as number);
        high[index] = Math.max(high[index] as number, volts[i] as number);
      }
    });
  }
  return jacks.map((_, index) => {
    const [from, to] = [low[index] as number, high[index] as number];
    return to - from < STILL ? from : undefined;
  });
}
