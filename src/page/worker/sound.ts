/**
 * The loop as `render --loop` makes it, in pieces: each is handed over as soon as it is played, the
 * last with what rings on after the end added to the head. Played once, since the page keeps it all;
 * `engine/loop` plays twice and keeps the tail alone, and gives the same samples.
 */

import { FoldedTail } from '../../engine/folded-tail.ts';
import type { Part } from '../../engine/renderer.ts';
import type { Stem } from '../../engine/stems.ts';
import { Take } from '../../engine/take.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import type { Sound } from '../protocol.ts';

export interface LoopSoundOptions {
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
  private readonly tracks: readonly Track[];
  /** What is played so far, and handed over. */
  private done = 0;
  private given = 0;

  /**
   * @param patch a checked patch with exactly one output module and no count-in.
   */
  constructor(patch: Patch, { seconds, probe, stem, part }: LoopSoundOptions) {
    this.take = new Take(patch, {
      sampleRate: USUAL_RATE,
      length: { unit: 'seconds', value: seconds },
      tail: { unit: 'silence' },
      probes: probe === undefined ? [] : [probe.jack],
      stems: stem === undefined ? [] : [stem],
      part,
    });
    this.frames = this.take.musicFrames;
    const trackOf = (block: Float64Array): Track => ({
      block,
      samples: new Float64Array(this.frames),
      tail: new FoldedTail(this.frames),
    });
    const channels = this.take.channels.map(trackOf);
    const voice = (this.take.stems[0] ?? []).map(trackOf);
    this.tracks = [...channels, ...voice];
    this.channels = channels.map(({ samples }) => samples);
    this.stem = voice.map(({ samples }) => samples);
    this.probe = probe && { jack: probe.name, volts: new Float64Array(this.frames) };
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
    const { frames, isWhole, probe, played } = this;
    const from = isWhole ? 0 : this.given;
    // The head is handed over again, now with the tail.
    const to = isWhole && this.given === frames ? Math.min(frames, played - frames) : this.done;
    if (to === from && !isWhole) return undefined;
    this.given = this.done;
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
    const { frames, take, probe } = this;
    const start = take.frames - count;
    const music = Math.max(0, Math.min(count, frames - start));
    for (const { block, samples, tail } of this.tracks) {
      if (music > 0) samples.set(block.subarray(0, music), start);
      tail.collect(block, start, count);
    }
    if (music > 0) probe?.volts.set((take.probes[0] as Float64Array).subarray(0, music), start);
    this.done = Math.min(frames, take.frames);
  }

  private close(): void {
    for (const { samples, tail } of this.tracks) tail.addTo(samples);
    this.isWhole = true;
  }
}

/** A signal of the mix or of a voice. */
interface Track {
  /** The latest block. */
  readonly block: Float64Array;
  readonly samples: Float64Array;
  readonly tail: FoldedTail;
}

/** The buffers of a piece, to be handed over rather than copied. */
export function buffersOf({ channels, probe }: Sound): readonly ArrayBuffer[] {
  return [...channels, ...(probe ? [probe.volts] : [])].map(({ buffer }) => buffer as ArrayBuffer);
}
