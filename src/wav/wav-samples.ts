/**
 * Unpacks the samples of a WAV file: least significant byte first, one frame after the other. The
 * largest negative code of an integer format is -1.0; 8 bits are unsigned, all others signed.
 */

import type { WavLayout } from './wav-header.ts';

/** Puts the samples of `frames` frames into one array a channel. */
export type Unpack = (bytes: DataView, frames: number, channels: readonly Float64Array[]) => void;

/** Chooses the loop for a layout. */
export function unpackerOf({ encoding, bytes }: WavLayout): Unpack {
  if (encoding === 'float') return bytes === 4 ? float32 : float64;
  return ([integer8, integer16, integer24, integer32] as const)[bytes - 1] as Unpack;
}

// One loop a format, each with a single kind of access: V8 keeps such a loop tight. Products with
// powers of two are exact, and quotients cost more.

function integer8(view: DataView, frames: number, channels: readonly Float64Array[]): void {
  const stride = channels.length;
  channels.forEach((samples, c) => {
    for (let n = 0, at = c; n < frames; n++, at += stride) {
      samples[n] = (view.getUint8(at) - 128) * 2 ** -7;
    }
  });
}

function integer16(view: DataView, frames: number, channels: readonly Float64Array[]): void {
  const stride = 2 * channels.length;
  channels.forEach((samples, c) => {
    for (let n = 0, at = 2 * c; n < frames; n++, at += stride) {
      samples[n] = view.getInt16(at, true) * 2 ** -15;
    }
  });
}

function integer24(view: DataView, frames: number, channels: readonly Float64Array[]): void {
  const stride = 3 * channels.length;
  // A view has no access of three bytes, and two of its own cost more than three of a list's.
  const bytes = new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  channels.forEach((samples, c) => {
    for (let n = 0, at = 3 * c; n < frames; n++, at += stride) {
      const top = (bytes[at + 2] as number) << 24;
      const middle = (bytes[at + 1] as number) << 16;
      const low = (bytes[at] as number) << 8;
      samples[n] = (top | middle | low) * 2 ** -31;
    }
  });
}

function integer32(view: DataView, frames: number, channels: readonly Float64Array[]): void {
  const stride = 4 * channels.length;
  channels.forEach((samples, c) => {
    for (let n = 0, at = 4 * c; n < frames; n++, at += stride) {
      samples[n] = view.getInt32(at, true) * 2 ** -31;
    }
  });
}

function float32(view: DataView, frames: number, channels: readonly Float64Array[]): void {
  const stride = 4 * channels.length;
  channels.forEach((samples, c) => {
    for (let n = 0, at = 4 * c; n < frames; n++, at += stride) {
      samples[n] = view.getFloat32(at, true);
    }
  });
}

function float64(view: DataView, frames: number, channels: readonly Float64Array[]): void {
  const stride = 8 * channels.length;
  channels.forEach((samples, c) => {
    for (let n = 0, at = 8 * c; n < frames; n++, at += stride) {
      samples[n] = view.getFloat64(at, true);
    }
  });
}
