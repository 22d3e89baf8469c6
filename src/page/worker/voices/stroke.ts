/** One stroke of a voice, alone and as loud as in the mix: what a hand hears that strikes it. */

import { withoutCountIn } from '../../../engine/loop.ts';
import { Take } from '../../../engine/take.ts';
import { USUAL_RATE } from '../../../engine/usual-rate.ts';
import type { Line, Pattern, Step } from '../../../modules/score.ts';
import type { Patch, PatchModule } from '../../../patch/patch.ts';
import { rhythmSettings } from '../../../timing/settings.ts';
import type { StrokeWish } from '../../protocol.ts';
import { soloed } from './solo.ts';

/** The gates are played for so long, and all is heard for so long at most, s. */
const PLAYED = 1.5;
const MOST_HEARD = 6;
/** Work between two breaths, ms. */
const SLICE = 12;
/** Steps until the pattern comes round: 3 s at the fastest tempo. */
const STEPS = 64;

/**
 * Plays it.
 * @returns left, or left and right, of 1.0 as full scale; empty where nothing is heard.
 */
export async function strokeOf(
  patch: Patch,
  wish: StrokeWish,
  { breathe, now }: { readonly breathe: () => Promise<void>; readonly now: () => number },
): Promise<readonly Float32Array<ArrayBuffer>[]> {
  const take = new Take(struck(patch, wish), {
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

/** The patch with one stroke in it, and with no other voice. */
export function struck(patch: Patch, { voice, module, channel, isAccented }: StrokeWish): Patch {
  const alone = soloed(withoutCountIn(patch), { voice, isAlone: true });
  const once = (rhythm: PatchModule): PatchModule => {
    const { channels, patterns } = rhythmSettings(rhythm.settings);
    const at = rhythm.name === module ? channels.findIndex(({ name }) => name === channel) : -1;
    // Its gate is as long as where it plays first.
    const known = patterns.flatMap(({ lines }) => lines).find((line) => line.channel === at);
    const pattern: Pattern = {
      name: channel,
      stepsPerQuarter: 4,
      length: STEPS,
      lines: at < 0 ? [] : [lineOf(at, isAccented, known)],
    };
    const song = [{ pattern: 0, repeats: 1 }];
    return { ...rhythm, settings: { ...rhythm.settings, patterns: [pattern], song } };
  };
  return {
    ...alone,
    modules: alone.modules.map((one) => (one.definition.role === 'score' ? once(one) : one)),
  };
}

function lineOf(channel: number, accent: boolean, known: Line | undefined): Line {
  const step = (strokes: number): Step => ({
    strokes,
    accent: accent && strokes > 0,
    flam: false,
    maybe: false,
  });
  return {
    channel,
    steps: Array.from({ length: STEPS }, (_, index) => step(index === 0 ? 1 : 0)),
    ...(known?.gate && { gate: known.gate }),
  };
}
