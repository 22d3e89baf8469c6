/** One stroke of a voice, alone and as loud as in the mix: the sound of striking it on the page. */

import { Take } from '../../../engine/take.ts';
import { USUAL_RATE } from '../../../engine/usual-rate.ts';
import { struck } from '../../../output/strokes/struck.ts';
import type { Patch } from '../../../patch/patch.ts';
import type { StrokeWish } from '../../protocol.ts';

/** How long the gates are played, and the longest that the stroke is heard, s. */
const PLAYED = 1.5;
const MOST_HEARD = 6;
/** Work between two looks at newer requests, ms. */
const SLICE = 12;

/**
 * Plays a stroke.
 * @returns left, or left and right, 1.0 being full scale; empty where nothing is heard.
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

/** -90 dBFS: below this a tail has died away. */
const SILENCE = 0.0000316;
