/** The clip as a file: the bytes that `forehear render --loop` writes. */

import { Loop } from '../../engine/loop.ts';
import type { Prepared } from '../../engine/prepared.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { barCues, type Length } from '../../timing/length.ts';
import { WavMemory } from '../../wav/wav-bytes.ts';

/** Work between two breaths, ms. */
const SLICE = 20;

/** Renders a loop. @param of has no count-in. */
export async function clipOf(
  of: Prepared,
  length: Length,
  { breathe, now }: { readonly breathe: () => Promise<void>; readonly now: () => number },
): Promise<Uint8Array<ArrayBuffer>> {
  const loop = new Loop(of, { sampleRate: USUAL_RATE, length });
  const { channels, musicFrames } = loop;
  const { patch } = of;
  const wav = new WavMemory(
    {
      sampleRate: USUAL_RATE,
      depth: '24',
      channels: channels.length,
      title: patch.title,
      cues: barCues(patch, USUAL_RATE, musicFrames),
    },
    musicFrames,
  );
  let breath = now() + SLICE;
  for (let frames = loop.read(); frames > 0; frames = loop.read()) {
    wav.add(channels, frames);
    if (now() < breath) continue;
    await breathe();
    breath = now() + SLICE;
  }
  return wav.finish();
}
