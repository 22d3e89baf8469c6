/** The sound of a variant: a patch, played as a loop with its tail folded in, or a recording, read. */

import { Loop } from '../engine/loop.ts';
import type { SampleBlock } from '../measure/samples.ts';
import type { KindsOption } from '../modules/kinds.ts';
import { WAV_BLOCK, WavFile } from '../wav/read-wav.ts';
import { openWav, type WavOptions } from '../wav/wav-file.ts';
import { steppedBits } from '../wav/wav-header.ts';

import { type Kept, type PlayedVariant, playedLoop } from './played.ts';
import type { VariantPlay, VariantSource } from './task.ts';
import { variantPatch } from './variant.ts';

/** Samples block by block, each overwriting the last. */
export interface Blocks {
  /** Hz; a recording keeps its own. */
  readonly sampleRate: number;
  readonly channels: readonly Float64Array[];
  /** How many frames have been read, and of how many. */
  readonly frames: number;
  readonly totalFrames: number;
  /** Whether a tail did not die away. */
  readonly cut: boolean;
  /** @returns the number of new frames in each channel; 0 at the end. */
  read(): number;
  /** Ends the reading, at the end or before it. */
  close(): void;
}

/** The blocks of a variant. */
export interface HeardBlocks extends Blocks {
  /** Of a recording's samples; 0 where these have no steps, as of a patch. */
  readonly bits: number;
}

/** Opens the samples of a variant. @throws what reading a patch or a WAV file throws. */
export function heardBlocks(
  heard: VariantSource,
  play: VariantPlay,
  of: KindsOption = {},
): HeardBlocks {
  if (heard.type === 'recording') return new RecordingBlocks(heard.path);
  const { sampleRate, length } = play;
  const loop = new Loop(variantPatch(heard.written, heard.set, of), { sampleRate, length });
  return {
    sampleRate,
    bits: 0,
    channels: loop.channels,
    totalFrames: loop.totalFrames,
    get frames() {
      return loop.frames;
    },
    get cut() {
      return loop.cut;
    },
    read: () => loop.read(),
    close: () => undefined,
  };
}

/** Samples in memory, and their rate. */
export interface KeptSound extends PlayedVariant, Pick<HeardBlocks, 'sampleRate' | 'bits'> {}

/**
 * Plays a variant, or reads it, and keeps its samples.
 * @returns undefined, having done neither, if they take more than `mostBytes`.
 */
export function heardKept(
  heard: VariantSource,
  play: VariantPlay,
  mostBytes: number,
  of: KindsOption = {},
): KeptSound | undefined {
  if (heard.type === 'patch') {
    const played = playedLoop(variantPatch(heard.written, heard.set, of), play, mostBytes);
    return played && { ...played, sampleRate: play.sampleRate, bits: 0 };
  }
  const blocks = new RecordingBlocks(heard.path);
  try {
    const bytes = blocks.totalFrames * Float64Array.BYTES_PER_ELEMENT;
    if (blocks.channels.length * bytes > mostBytes) return undefined;
    const channels = blocks.channels.map(() => new Float64Array(new SharedArrayBuffer(bytes)));
    for (let given = blocks.read(); given > 0; given = blocks.read())
      channels.forEach((samples, c) => {
        const block = blocks.channels[c] as Float64Array;
        samples.set(block.subarray(0, given), blocks.frames - given);
      });
    const { sampleRate, bits } = blocks;
    return { channels, cut: false, sampleRate, bits };
  } finally {
    blocks.close();
  }
}

class RecordingBlocks implements HeardBlocks {
  readonly sampleRate: number;
  readonly bits: number;
  readonly totalFrames: number;
  readonly cut = false;
  readonly channels: readonly Float64Array[];
  frames = 0;

  private readonly file: WavFile;
  private readonly blocks: Iterator<SampleBlock>;

  constructor(path: string) {
    this.file = new WavFile(path);
    this.sampleRate = this.file.sampleRate;
    this.bits = steppedBits(this.file.layout);
    this.totalFrames = this.file.layout.frames;
    this.channels = Array.from({ length: this.file.channels }, () => new Float64Array(WAV_BLOCK));
    this.blocks = this.file.blocks[Symbol.iterator]();
  }

  read(): number {
    const { done, value } = this.blocks.next();
    if (done) return 0;
    const { channels, frames } = value;
    this.channels.forEach((own, c) => {
      own.set((channels[c] as Float64Array).subarray(0, frames));
    });
    this.frames += frames;
    return frames;
  }

  close(): void {
    this.file.close();
  }
}

/**
 * Writes blocks into a WAV file, whole or not at all, and closes them.
 * @param onBlock is given each block before it is written, and may change it.
 * @throws what reading and writing throw.
 */
export async function writeBlocks(
  blocks: Blocks,
  {
    path,
    title,
    depth,
  }: { readonly path: string; readonly title: string; readonly depth: WavOptions['depth'] },
  onBlock: (channels: readonly Float64Array[], frames: number) => void,
): Promise<void> {
  const { sampleRate, totalFrames: frames } = blocks;
  const channels = blocks.channels.length;
  const wav = await openWav(path, { sampleRate, depth, channels, title, frames });
  try {
    for (let given = blocks.read(); given > 0; given = blocks.read()) {
      onBlock(blocks.channels, given);
      wav.write(blocks.channels, given);
    }
    await wav.finish();
  } catch (error) {
    wav.abandon();
    throw error;
  } finally {
    blocks.close();
  }
}

const BLOCK = 4096;

/** Samples in memory, as blocks that may be changed. */
export class KeptBlocks implements Blocks {
  readonly sampleRate: number;
  readonly totalFrames: number;
  readonly channels: readonly Float64Array[];
  readonly cut = false;
  frames = 0;

  private readonly kept: Kept;

  constructor(kept: Kept, sampleRate: number) {
    this.kept = kept;
    this.sampleRate = sampleRate;
    this.totalFrames = (kept[0] as Float64Array).length;
    this.channels = kept.map(() => new Float64Array(BLOCK));
  }

  read(): number {
    const { frames, kept } = this;
    const count = Math.min(BLOCK, this.totalFrames - frames);
    this.channels.forEach((channel, c) => {
      channel.set((kept[c] as Float64Array).subarray(frames, frames + count));
    });
    this.frames += count;
    return count;
  }

  close(): void {
    // There is nothing to close.
  }
}
