/** The clip as a file: the bytes that `forehear render --loop` writes. */

import { Loop, withoutCountIn } from '../../engine/loop.ts';
import { barsWithin, type Length } from '../../engine/take.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Patch } from '../../patch/patch.ts';
import { wavParts } from '../../wav/wav-format.ts';
import { Packer, SAMPLE_BYTES } from '../../wav/wav-pack.ts';

const DEPTH = '24';
/** Work between two breaths, ms. */
const SLICE = 20;

/** Renders a loop. */
export async function clipOf(
  given: Patch,
  length: Length,
  { breathe, now }: { readonly breathe: () => Promise<void>; readonly now: () => number },
): Promise<Uint8Array<ArrayBuffer>> {
  const patch = withoutCountIn(given);
  const loop = new Loop(patch, { sampleRate: USUAL_RATE, length });
  const { channels, musicFrames } = loop;
  const parts = await wavParts(
    {
      sampleRate: USUAL_RATE,
      depth: DEPTH,
      channels: channels.length,
      title: patch.title,
      cues: barsWithin(patch, musicFrames / USUAL_RATE)
        .map((time, index) => ({
          sample: Math.round(time * USUAL_RATE),
          label: `Bar ${index + 1}`,
        }))
        .filter(({ sample }) => sample < musicFrames),
    },
    { frames: musicFrames },
  );
  const { head, tail } = parts;
  const bytes = musicFrames * channels.length * SAMPLE_BYTES[DEPTH];
  const wav = new Uint8Array(head.length + bytes + tail.length);
  wav.set(head);
  const packer = new Packer(channels.length, DEPTH, true);
  let at = head.length;
  let breath = now() + SLICE;
  for (let frames = loop.read(); frames > 0; frames = loop.read()) {
    at += packer.pack(channels, 0, frames, wav, at);
    if (now() < breath) continue;
    await breathe();
    breath = now() + SLICE;
  }
  wav.set(tail, at);
  return wav;
}
