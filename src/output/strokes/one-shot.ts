/**
 * A stroke played into memory and trimmed: from the first sample above the floor to the last. Nothing is
 * faded or scaled, so that these are the very samples of a render, as loud as in the mix.
 */

import { Take } from '../../engine/take.ts';
import { gainOfDb } from '../../modules/dsp/math.ts';
import type { Patch } from '../../patch/patch.ts';
import { strokes } from '../../timing/edges.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { type ChannelStroke, struck } from './struck.ts';

/** Below this a stroke has died away, as a render's tail has. */
export const FLOOR_DBFS = -90;
const FLOOR = gainOfDb(FLOOR_DBFS);

/** How long to wait for the sound of a stroke, and for more after the end of its gate, s. */
const WAITED = 1.5;

export interface OneShot {
  /** Left, or left and right, 1.0 being full scale; empty arrays where nothing is heard. */
  readonly channels: readonly Float64Array[];
  /** Samples of silence before it, which are left out. */
  readonly head: number;
  /** Whether it still sounded when the longest tail was over. */
  readonly cut: boolean;
}

/**
 * Plays a stroke.
 * @param sampleRate Hz.
 */
export function oneShot(patch: Patch, stroke: ChannelStroke, sampleRate: number): OneShot {
  const alone = struck(patch, stroke);
  const take = new Take(alone, {
    sampleRate,
    length: { unit: 'seconds', value: gateEnd(alone, sampleRate) + WAITED },
    tail: { unit: 'silence' },
  });
  let room = 2 * sampleRate;
  let heard = take.channels.map(() => new Float64Array(room));
  let first = -1;
  let end = 0;
  for (let count = take.read(); count > 0; count = take.read()) {
    const from = take.frames - count;
    if (take.frames > room) {
      room *= 2;
      heard = heard.map((samples) => {
        const longer = new Float64Array(room);
        longer.set(samples);
        return longer;
      });
    }
    take.channels.forEach((channel, index) => {
      heard[index]?.set(channel.subarray(0, count), from);
      for (let n = 0; n < count; n++) {
        if (!(Math.abs(channel[n] as number) > FLOOR)) continue;
        if (first < 0 || from + n < first) first = from + n;
        if (from + n >= end) end = from + n + 1;
      }
    });
  }
  const head = Math.max(0, first);
  return { channels: heard.map((samples) => samples.slice(head, end)), head, cut: take.cut };
}

/** When the gate of the one stroke ends, s. */
function gateEnd({ modules, seed }: Patch, sampleRate: number): number {
  let last = 0;
  for (const { name, definition, settings } of modules) {
    if (definition.role !== 'score') continue;
    const next = strokes(rhythmSettings(settings), { sampleRate, seed, module: name, until: 1 });
    last = Math.max(last, next()?.endTime ?? 0);
  }
  return last;
}

/** Whether two are the same, sample for sample. */
export function isSameShot(one: OneShot, other: OneShot): boolean {
  return (
    one.channels.length === other.channels.length &&
    one.channels.every((samples, channel) => {
      const others = other.channels[channel] as Float64Array;
      return (
        samples.length === others.length && samples.every((sample, at) => sample === others[at])
      );
    })
  );
}
