/**
 * Writes a WAV file as its samples are made, in memory that does not grow with its length. It
 * appears complete or not at all.
 */

import { PartFile } from '../files/whole-file.ts';
import { MAX_UINT32, SOFTWARE, type WavParts, type WavSpec, wavParts } from './wav-format.ts';
import { Packer, SAMPLE_BYTES } from './wav-pack.ts';

/** What is written besides the samples. */
export interface WavOptions extends Omit<WavSpec, 'software'> {
  /** How many frames will come, if that is known: a short file then needs no room for RF64. */
  readonly frames?: number;
  /** Whether its folder is made if it is not there. */
  readonly makesFolder?: boolean;
  /** Whether 16 bits get dither, true unless given; not for samples that already lie on codes. */
  readonly dither?: boolean;
  /** See `WavSizes` in wav-format.ts. */
  readonly riffLimit?: number;
}

/** What was written. */
export interface WavResult {
  readonly path: string;
  readonly frames: number;
  /** Samples that had to be limited: beyond full scale, or at 32f beyond the largest float. */
  readonly clipped: number;
}

/** Bytes gathered before they go to the disk. */
const BUFFER_BYTES = 256 * 1024;

/**
 * Starts a WAV file. Call `finish` when everything is written, or `abandon` to give the file up.
 * @throws OutputError if the machine will not write there; Error if the options are impossible.
 */
export async function openWav(path: string, options: WavOptions): Promise<WavWriter> {
  // Until length and cue points are known, this head is only a placeholder for the final one.
  const parts = isOpen(options)
    ? await partsOf(options, options.frames ?? 0, [])
    : await partsOf(options, options.frames as number);
  const { makesFolder = false } = options;
  const file = new PartFile(path, { makesFolder });
  file.write(parts.head);
  return new WavWriter(path, options, file, parts);
}

/** A WAV file in the making. */
export class WavWriter {
  private readonly path: string;
  private readonly options: WavOptions;
  private readonly file: PartFile;
  /** The head and tail as they were when the file was opened. */
  private readonly parts: WavParts;
  private readonly packer: Packer;
  private readonly buffer: Uint8Array;
  private readonly frameBytes: number;
  private filled = 0;
  private frames = 0;

  constructor(path: string, options: WavOptions, file: PartFile, parts: WavParts) {
    this.path = path;
    this.options = options;
    this.file = file;
    this.parts = parts;
    this.packer = new Packer(options.channels, options.depth, options.dither ?? true);
    this.frameBytes = options.channels * SAMPLE_BYTES[options.depth];
    this.buffer = new Uint8Array(Math.ceil(BUFFER_BYTES / this.frameBytes) * this.frameBytes);
  }

  /**
   * Adds the first `frames` frames of the channels.
   * @param channels one array a channel, 1.0 being full scale.
   * @throws OutputError if the disk is full, and the like; Error if a sample is not finite. The
   *   unfinished file is then gone.
   */
  write(channels: readonly Float64Array[], frames: number): void {
    this.file.requireOpen();
    try {
      for (let from = 0; from < frames; ) {
        const room = (this.buffer.length - this.filled) / this.frameBytes;
        const count = Math.min(frames - from, room);
        this.filled += this.packer.pack(channels, from, count, this.buffer, this.filled);
        from += count;
        if (this.filled === this.buffer.length) this.flush();
      }
      this.frames += frames;
    } catch (error) {
      this.abandon();
      throw error;
    }
  }

  /**
   * Completes the file and puts it in its place.
   * @throws OutputError as `write` does; Error if `options.frames` promised another number. The
   *   unfinished file is then gone, and an older file is still there.
   */
  async finish(): Promise<WavResult> {
    const { path, frames, options } = this;
    this.file.requireOpen();
    try {
      this.flush();
      if (frames !== (options.frames ?? frames))
        throw new Error(`${path} was to hold ${options.frames} frames and got ${frames}`);
      if (isOpen(options)) {
        const { head, tail } = await partsOf(options, frames);
        this.file.write(tail);
        this.file.write(head, 0);
      } else {
        this.file.write(this.parts.tail);
      }
      this.file.finish();
    } catch (error) {
      this.abandon();
      throw error;
    }
    return { path, frames, clipped: this.packer.clipped };
  }

  /** Removes the unfinished file; does nothing to a finished one. */
  abandon(): void {
    this.file.abandon();
  }

  private flush(): void {
    this.file.write(this.buffer.subarray(0, this.filled));
    this.filled = 0;
  }
}

/** Whether it is known only at the end how long the file is, or where its cue points are. */
function isOpen({ frames, cues }: WavOptions): boolean {
  return frames === undefined || typeof cues === 'function';
}

function partsOf(
  options: WavOptions,
  frames: number,
  cues = options.cues ?? [],
): Promise<WavParts> {
  const { riffLimit = MAX_UINT32 } = options;
  // Cue points that are not known yet take less than the samples do.
  const least = 2 * frames * options.channels * SAMPLE_BYTES[options.depth];
  const roomForRf64 = options.frames === undefined || (isOpen(options) && least > riffLimit);
  return wavParts({ ...options, cues, software: SOFTWARE }, { frames, roomForRf64, riffLimit });
}
