/** The clip as a file: for the song, the bytes that `forehear render --loop` writes. */

import { Loop } from '../../engine/loop.ts';
import type { Prepared } from '../../engine/prepared.ts';
import { Stretch } from '../../engine/stretch.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { BarCues } from '../../output/bar-cues.ts';
import type { Length } from '../../timing/length.ts';
import { WavMemory } from '../../wav/wav-bytes.ts';
import type { LoopPlace } from './place.ts';

/** Work between two looks at newer requests, ms. */
const SLICE = 20;

/** Callbacks by which the work can be interrupted. */
interface Interrupting {
  readonly breathe: () => Promise<void>;
  readonly now: () => number;
}

/** Renders the loop; from within the song, that stretch as it sounds there. */
export async function clipOf(
  of: Prepared,
  { start, seconds, length }: LoopPlace,
  { breathe, now }: Interrupting,
): Promise<Uint8Array<ArrayBuffer>> {
  const { patch } = of;
  const cues = new BarCues(of);
  const { channels, frames, read } =
    start > 0 ? stretchOf(of, start, seconds, cues) : loopOf(of, length, cues);
  const first = Math.round(start * USUAL_RATE);
  const wav = new WavMemory(
    {
      sampleRate: USUAL_RATE,
      depth: '24',
      channels: channels.length,
      title: patch.title,
      cues: () =>
        cues
          .within(USUAL_RATE, first + frames)
          .filter(({ sample }) => sample >= first)
          .map((cue) => ({ ...cue, sample: cue.sample - first })),
    },
    frames,
  );
  let breath = now() + SLICE;
  for (let given = read(); given !== undefined; given = read()) {
    wav.add(given.channels, given.frames);
    if (now() < breath) continue;
    await breathe();
    breath = now() + SLICE;
  }
  return wav.finish();
}

/** A sound that is read block by block. */
interface BlockSource {
  readonly channels: readonly Float64Array[];
  readonly frames: number;
  /** The next frames; undefined once it is over. */
  readonly read: () =>
    | { readonly channels: readonly Float64Array[]; readonly frames: number }
    | undefined;
}

function loopOf(of: Prepared, length: Length, { onStep }: BarCues): BlockSource {
  const loop = new Loop(of, { sampleRate: USUAL_RATE, length, onStep });
  const { channels, musicFrames } = loop;
  const read = (): ReturnType<BlockSource['read']> => {
    const frames = loop.read();
    return frames === 0 ? undefined : { channels, frames };
  };
  return { channels, frames: musicFrames, read };
}

function stretchOf(of: Prepared, from: number, seconds: number, { onStep }: BarCues): BlockSource {
  const stretch = new Stretch(of, { sampleRate: USUAL_RATE, from, to: from + seconds, onStep });
  const { channels } = stretch.take;
  const read = (): ReturnType<BlockSource['read']> => {
    const piece = stretch.read();
    return (
      piece && {
        channels: channels.map((block) => block.subarray(piece.from, piece.to)),
        frames: piece.to - piece.from,
      }
    );
  };
  return { channels, frames: stretch.musicFrames, read };
}
