/** Reads WAV files block by block, in memory that does not grow with their length. */

import { closeSync, readSync } from 'node:fs';
import { openInput } from '../files/inputs.ts';
import { speakersOf } from '../measure/loudness/speakers.ts';
import type { SampleBlock, SampleSource } from '../measure/samples.ts';
import { readLayout, WavError, type WavLayout } from './wav-header.ts';
import { unpackerOf } from './wav-samples.ts';

/** Most frames in a block. */
export const WAV_BLOCK = 16384;
/** The largest sample that is accepted: the square of much larger values is not finite. */
const LARGEST = 1e100;

/** An open file. Its blocks can be read any number of times, until it is closed. */
export class WavFile implements SampleSource {
  /** What its header says. */
  readonly layout: WavLayout;
  /** Hz. */
  readonly sampleRate: number;
  /** How many. */
  readonly channels: number;
  /** The factor of each channel's power in its loudness, by ITU-R BS.1770. */
  readonly weights: readonly number[];

  private readonly path: string;
  private readonly descriptor: number;

  /**
   * Opens a file and reads its header.
   * @throws WavError, beginning with the path, if it is not a WAV file, or is damaged; InputError if
   * it is not a regular file; the system's error if it cannot be opened or read.
   */
  constructor(path: string) {
    this.path = path;
    const { descriptor, size } = openInput(path);
    this.descriptor = descriptor;
    try {
      this.layout = readLayout((position, length) => this.read(position, length), size);
    } catch (error) {
      closeSync(this.descriptor);
      throw error instanceof WavError ? this.named(error) : error;
    }
    this.sampleRate = this.layout.sampleRate;
    this.channels = this.layout.channels;
    const { channels, channelMask } = this.layout;
    this.weights = speakersOf(channels, channelMask).map(({ weight }) => weight);
  }

  /**
   * The samples, 1.0 being full scale, in blocks that are overwritten by the next.
   * @throws WavError while they are read, if the file has become shorter, or if a sample is not
   * a finite number: its frame, both counted from 0, and its channel, counted from 1, are named.
   */
  get blocks(): Iterable<SampleBlock> {
    return { [Symbol.iterator]: () => this.unpacked() };
  }

  /** Closes the file. */
  close(): void {
    closeSync(this.descriptor);
  }

  private *unpacked(): Generator<SampleBlock, void> {
    const { layout } = this;
    const frameBytes = layout.channels * layout.bytes;
    const unpack = unpackerOf(layout);
    const channels = Array.from({ length: layout.channels }, () => new Float64Array(WAV_BLOCK));
    const bytes = new Uint8Array(WAV_BLOCK * frameBytes);
    const view = new DataView(bytes.buffer);
    for (let from = 0; from < layout.frames; from += WAV_BLOCK) {
      const frames = Math.min(WAV_BLOCK, layout.frames - from);
      const position = layout.dataStart + from * frameBytes;
      const got = this.fill(bytes.subarray(0, frames * frameBytes), position);
      if (got < frames * frameBytes) {
        throw this.named(new WavError(`byte ${position + got}: the file has become shorter.`));
      }
      unpack(view, frames, channels);
      if (layout.encoding === 'float') this.requireFinite(channels, from, frames);
      yield { channels, frames };
    }
  }

  private requireFinite(channels: readonly Float64Array[], from: number, frames: number): void {
    channels.forEach((samples, c) => {
      for (let n = 0; n < frames; n++) {
        const value = samples[n] as number;
        if (Math.abs(value) <= LARGEST) continue;
        const frame = from + n;
        const seconds = (frame / this.sampleRate).toFixed(3);
        const { dataStart, bytes } = this.layout;
        const at = dataStart + (frame * this.channels + c) * bytes;
        throw this.named(
          new WavError(
            `byte ${at}: the sample at frame ${frame} (${seconds} s) of channel ${c + 1} is ${value}, which is not sound.`,
          ),
        );
      }
    });
  }

  private read(position: number, length: number): Uint8Array {
    const bytes = new Uint8Array(length);
    return bytes.subarray(0, this.fill(bytes, position));
  }

  /** @returns how many bytes there were. */
  private fill(bytes: Uint8Array, position: number): number {
    let filled = 0;
    while (filled < bytes.length) {
      const got = readSync(
        this.descriptor,
        bytes,
        filled,
        bytes.length - filled,
        position + filled,
      );
      if (got === 0) break;
      filled += got;
    }
    return filled;
  }

  private named(error: WavError): WavError {
    return new WavError(`${this.path}: ${error.message}`);
  }
}
