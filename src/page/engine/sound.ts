/**
 * The loop as `render --loop` makes it, in pieces: each is handed over as soon as it is played, the
 * last with what rings on after the end added to the head. Played once, since the page keeps it all;
 * `engine/loop` plays twice and keeps the tail alone, and gives the same samples.
 */

import type { Part } from '../../engine/renderer.ts';
import type { Stem } from '../../engine/stems.ts';
import { Take } from '../../engine/take.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import type { Sound } from '../protocol.ts';
import { SAMPLE_RATE } from './length.ts';

export interface SoundOptions {
  /** s, from `loopLength`. */
  readonly seconds: number;
  /** A jack to listen at beside the mix, and its name. */
  readonly probe?: { readonly jack: JackRef; readonly name: string };
  /** A voice to listen to beside the mix. */
  readonly stem?: Stem;
  /** The part of the patch that is to be played, if the rest has been kept. */
  readonly part?: Part;
}

/** A loop being played. */
export class LoopSound {
  readonly frames: number;
  /** The loop so far, 1.0 being full scale; whole once `isWhole`. */
  readonly channels: readonly Float64Array[];
  readonly stem: readonly Float64Array[];
  readonly probe: { readonly jack: string; readonly volts: Float64Array } | undefined;
  isWhole = false;

  private readonly take: Take;
  /** What rings on after the end, folded into the length of the loop. */
  private readonly tails: Float64Array[];
  /** What is played so far, and handed over. */
  private done = 0;
  private given = 0;
  private tailFrames = 0;

  /**
   * @param patch a checked patch with exactly one output module and no count-in.
   */
  constructor(patch: Patch, { seconds, probe, stem, part }: SoundOptions) {
    this.take = new Take(patch, {
      sampleRate: SAMPLE_RATE,
      length: { unit: 'seconds', value: seconds },
      tail: { unit: 'silence' },
      probes: probe === undefined ? [] : [probe.jack],
      stems: stem === undefined ? [] : [stem],
      part,
    });
    this.frames = this.take.musicFrames;
    const blank = (): Float64Array => new Float64Array(this.frames);
    this.channels = this.take.channels.map(blank);
    this.stem = (this.take.stems[0] ?? []).map(blank);
    this.tails = [...this.channels, ...this.stem].map(() => new Float64Array(0));
    this.probe = probe && { jack: probe.name, volts: blank() };
  }

  /** Frames played so far, the tail too. */
  get played(): number {
    return this.take.frames;
  }

  /** Plays on until `now()` is past `until`, or the loop is whole. */
  play(until: number, now: () => number): void {
    while (!this.isWhole) {
      const frames = this.take.read();
      if (frames === 0) this.close();
      else this.keep(frames);
      if (now() >= until) return;
    }
  }

  /** What has been played since the last piece; undefined if that is nothing. */
  piece(): Sound | undefined {
    const from = this.isWhole ? 0 : this.given;
    // The head is handed over again, now with the tail.
    const to = this.isWhole && this.given === this.frames ? this.tailFrames : this.done;
    if (to === from && !this.isWhole) return undefined;
    this.given = this.done;
    const { frames, isWhole, probe } = this;
    return {
      from,
      frames,
      channels: this.channels.map((channel) => new Float32Array(channel.subarray(from, to))),
      ...(probe && {
        probe: { jack: probe.jack, volts: new Float32Array(probe.volts.subarray(from, to)) },
      }),
      isWhole,
    };
  }

  private keep(count: number): void {
    const { frames, take } = this;
    const start = take.frames - count;
    const music = Math.min(count, Math.max(0, frames - start));
    const signals = [...take.channels, ...(take.stems[0] ?? [])];
    if (music > 0) {
      [...this.channels, ...this.stem].forEach((kept, index) => {
        kept.set((signals[index] as Float64Array).subarray(0, music), start);
      });
      this.probe?.volts.set((take.probes[0] as Float64Array).subarray(0, music), start);
    }
    this.done = Math.min(frames, take.frames);
    if (music === count) return;
    this.tails.forEach((tails, index) => {
      const signal = signals[index] as Float64Array;
      let frame = (start + music - frames) % frames;
      const tail = roomFor(tails, Math.min(frames, frame + count));
      for (let i = music; i < count; i++) {
        tail[frame] = (tail[frame] as number) + (signal[i] as number);
        frame = frame + 1 === frames ? 0 : frame + 1;
      }
      this.tails[index] = tail;
    });
    this.tailFrames = Math.min(frames, take.frames - frames);
  }

  private close(): void {
    [...this.channels, ...this.stem].forEach((kept, index) => {
      const tail = this.tails[index] as Float64Array;
      for (let i = 0; i < this.tailFrames; i++) kept[i] = (kept[i] as number) + (tail[i] as number);
    });
    this.isWhole = true;
  }
}

/** The same samples with room for so many. */
function roomFor(samples: Float64Array, count: number): Float64Array {
  if (samples.length >= count) return samples;
  const longer = new Float64Array(Math.max(count, 2 * samples.length));
  longer.set(samples);
  return longer;
}

/** The buffers of a piece, to be handed over rather than copied. */
export function buffersOf({ channels, probe }: Sound): readonly ArrayBuffer[] {
  return [...channels, ...(probe ? [probe.volts] : [])].map(({ buffer }) => buffer as ArrayBuffer);
}
