/** One stroke of a voice, alone and as loud as in the mix: what a hand hears that strikes it. */

import { Take } from '../../../engine/take.ts';
import { USUAL_RATE } from '../../../engine/usual-rate.ts';
import { struck } from '../../../output/strokes/struck.ts';
import type { Patch } from '../../../patch/patch.ts';
import type { StrokeWish } from '../../protocol.ts';

/** The gates are played for so long, and all is heard for so long at most, s. */
const PLAYED = 1.5;
const MOST_HEARD = 6;
/** Work between two breaths, ms. */
const SLICE = 12;

/**
 * Plays it.
 * @returns left, or left and right, of 1.0 as full scale; empty where nothing is heard.
 */
export async function strokeOf(
  patch: Patch,
  { isAccented, ...stroke }: StrokeWish,
  { breathe, now }: { readonly breathe: () => Promise<void>; readonly now: () => number },
): Promise<readonly Float32Array<ArrayBuffer>[]> {
  const take = new Take(struck(patch, { ...stroke, strength: isAccented ? 'accent' : 'plain' }), {
    sampleRate: USUAL_RATE,
    length: { unit: 'seconds', value: PLAYED },
    tail: { unit: 'silence' },
  });
  const most = MOST_HEARD * USUAL_RATE;
  const heard = take.channels.map(() => new Float32Array(most));
  let last = 0;
  let until = now() + SLICE;
  while (take.frames < most) {
    const from = take.frames;
    const count = Math.min(take.read(), most - from);
    if (count <= 0) break;
    take.channels.forEach((channel, index) => {
      heard[index]?.set(channel.subarray(0, count), from);
      for (let n = 0; n < count; n++)
        if (Math.abs(channel[n] as number) > SILENCE) last = Math.max(last, from + n + 1);
    });
    if (now() < until) continue;
    await breathe();
    until = now() + SLICE;
  }
  return last === 0 ? [] : heard.map((channel) => channel.slice(0, last));
}

/** -90 dBFS, as of a tail that has died away. */
const SILENCE = 0.0000316;
