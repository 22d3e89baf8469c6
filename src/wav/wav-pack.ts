/**
 * Packs samples into the bytes of a WAV file's data chunk: interleaved, least significant byte first.
 *
 * Scale: 1.0 is 2^(bits - 1), the usual one; so +1.0 itself has no integer code and gets the top one.
 * Rounding: to the nearest code, halves upwards.
 * Dither: 16 bits get triangular dither 2 LSB wide, each channel its own, which makes the mean and
 * the power of the error independent of the signal (Wannamaker, Lipshitz, Vanderkooy & Wright,
 * "A Theory of Nonsubtractive Dither", IEEE Trans. Signal Process. 48 (2000) 499; from memory). 24
 * bits are rounded only: their error of -149 dB lies below the noise of any converter.
 */

import { Random, seedsFor } from '../modules/dsp/random.ts';

/** Bits of a sample; `32f` is IEEE 754 single precision, where nothing is clipped at 1.0. */
export type Depth = '16' | '24' | '32f';
/** `64f` is double precision: the engine's own samples, for another run to go on with. */
export type FileDepth = Depth | '64f';

export const SAMPLE_BYTES: { readonly [D in FileDepth]: number } = {
  '16': 2,
  '24': 3,
  '32f': 4,
  '64f': 8,
};

const MAX_FLOAT32 = 3.4028234663852886e38; // (2 - 2^-23) x 2^127

export class Packer {
  /** Samples so far that lay beyond +-1.0, or beyond the largest float at 32f, and were limited. */
  clipped = 0;

  private readonly depth: FileDepth;
  /** Bytes from one frame to the next. */
  private readonly stride: number;
  /** One a channel; undefined where samples are only rounded. */
  private readonly dithers: readonly (Random | undefined)[];
  /** Frames so far, for the error's text. */
  private packed = 0;

  /**
   * @param channels how many, at least 1.
   * @param dithered whether 16 bits get dither; not for samples that already lie on codes. It is
   *   the same each time, so that the same samples give the same bytes.
   */
  constructor(channels: number, depth: FileDepth, dithered: boolean) {
    this.depth = depth;
    this.stride = channels * SAMPLE_BYTES[depth];
    this.dithers = Array.from({ length: channels }, (_, c) =>
      dithered && depth === '16' ? new Random(seedsFor('', String(c), 'dither')) : undefined,
    );
  }

  /**
   * Packs `frames` frames from frame `from` of the channels into `into` from byte `at`.
   * @param channels the samples, 1.0 being full scale; as many channels as the packer was made for.
   * @returns the bytes written: frames x channels x bytes of a sample.
   * @throws Error if a sample is not a number or infinite, which only a fault in the engine can
   *   cause; the text names its channel and its frame in the file, both counted from 0.
   */
  pack(
    channels: readonly Float64Array[],
    from: number,
    frames: number,
    into: Uint8Array,
    at: number,
  ): number {
    for (let c = 0; c < this.dithers.length; c++) {
      const samples = (channels[c] as Float64Array).subarray(from, from + frames);
      const start = at + c * SAMPLE_BYTES[this.depth];
      const bad = this.packChannel(samples, this.dithers[c], into, start);
      if (bad >= 0) {
        throw new Error(
          `cannot write the sample ${samples[bad]} in channel ${c}, frame ${this.packed + bad}`,
        );
      }
    }
    this.packed += frames;
    return frames * this.stride;
  }

  /** Returns the index of the first sample that is not finite, otherwise -1. */
  private packChannel(
    samples: Float64Array,
    dither: Random | undefined,
    into: Uint8Array,
    start: number,
  ): number {
    switch (this.depth) {
      case '16':
        return this.pack16(samples, dither, into, start);
      case '24':
        return this.pack24(samples, into, start);
      case '32f':
        return this.packFloat(samples, into, start);
      case '64f':
        return this.packDouble(samples, into, start);
    }
  }

  private pack16(
    samples: Float64Array,
    dither: Random | undefined,
    into: Uint8Array,
    start: number,
  ): number {
    const stride = this.stride;
    for (let i = 0, o = start; i < samples.length; i++, o += stride) {
      let x = samples[i] as number;
      if (!(x >= -1 && x <= 1)) {
        if (!Number.isFinite(x)) return i;
        this.clipped += 1;
        x = x < 0 ? -1 : 1;
      }
      let code = nearest(x * 32768 + (dither === undefined ? 0 : triangle(dither.bits())));
      if (code > 32767) code = 32767;
      else if (code < -32768) code = -32768;
      into[o] = code;
      into[o + 1] = code >> 8;
    }
    return -1;
  }

  private pack24(samples: Float64Array, into: Uint8Array, start: number): number {
    const stride = this.stride;
    for (let i = 0, o = start; i < samples.length; i++, o += stride) {
      let x = samples[i] as number;
      if (!(x >= -1 && x <= 1)) {
        if (!Number.isFinite(x)) return i;
        this.clipped += 1;
        x = x < 0 ? -1 : 1;
      }
      let code = nearest(x * 8388608);
      if (code > 8388607) code = 8388607;
      into[o] = code;
      into[o + 1] = code >> 8;
      into[o + 2] = code >> 16;
    }
    return -1;
  }

  private packDouble(samples: Float64Array, into: Uint8Array, start: number): number {
    const stride = this.stride;
    const view = new DataView(into.buffer, into.byteOffset, into.byteLength);
    for (let i = 0, o = start; i < samples.length; i++, o += stride) {
      const x = samples[i] as number;
      if (!Number.isFinite(x)) return i;
      view.setFloat64(o, x, true);
    }
    return -1;
  }

  private packFloat(samples: Float64Array, into: Uint8Array, start: number): number {
    const stride = this.stride;
    const view = new DataView(into.buffer, into.byteOffset, into.byteLength);
    for (let i = 0, o = start; i < samples.length; i++, o += stride) {
      let x = samples[i] as number;
      if (!(x >= -MAX_FLOAT32 && x <= MAX_FLOAT32)) {
        if (!Number.isFinite(x)) return i;
        this.clipped += 1;
        x = x < 0 ? -MAX_FLOAT32 : MAX_FLOAT32;
      }
      view.setFloat32(o, x, true);
    }
    return -1;
  }
}

/** The nearest whole number, as a 32-bit one; `Math.round` costs twice as much here. */
function nearest(x: number): number {
  return Math.floor(x + 0.5) | 0;
}

/** Triangular between -1 and 1: the sum of two 16-bit halves, 1 added so that its mean is zero. */
function triangle(bits: number): number {
  return ((bits >> 16) + ((bits << 16) >> 16) + 1) * (1 / 65536);
}
