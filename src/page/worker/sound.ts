/**
 * The loop as `render --loop` makes it, in pieces: each is handed over as soon as it is played, the
 * last with what rings on after the end added to the head.
 */

import { KeptLoop, takeRound } from '../../engine/loop.ts';
import type { Prepared } from '../../engine/prepared.ts';
import type { Part } from '../../engine/renderer.ts';
import type { Stem } from '../../engine/stems.ts';
import { KeptStretch, Stretch } from '../../engine/stretch.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { JackRef } from '../../patch/patch.ts';
import type { Sound } from '../protocol.ts';

export interface LoopSoundOptions {
  /** s, from `placeOf`. */
  readonly seconds: number;
  /** s, where in the song it begins; 0 unless given. */
  readonly start?: number;
  /** A jack to listen at beside the mix, and its name. */
  readonly probe?: { readonly jack: JackRef; readonly name: string };
  /** What a voice is the sum of, to listen to beside the mix. */
  readonly stems?: readonly Stem[];
  /** The part of the patch that is to be played, if the rest has been kept. */
  readonly part?: Part;
}

/** A loop being played. */
export class LoopSound {
  readonly frames: number;
  /** The loop so far, 1.0 being full scale; whole once `isWhole`. */
  readonly channels: readonly Float64Array[];
  readonly probe: { readonly jack: string; readonly volts: Float64Array } | undefined;

  private readonly loop: KeptLoop | KeptStretch;
  /** Frames of the loop that are handed over. */
  private given = 0;

  /**
   * @param of a checked patch with exactly one output module and no count-in.
   */
  constructor(of: Prepared, { seconds, start = 0, probe, stems = [], part }: LoopSoundOptions) {
    const options = {
      sampleRate: USUAL_RATE,
      probes: probe === undefined ? [] : [probe.jack],
      stems,
    };
    this.loop =
      start > 0
        ? new KeptStretch(new Stretch(of, { ...options, from: start, to: start + seconds }))
        : new KeptLoop(
            takeRound(of, { ...options, length: { unit: 'seconds', value: seconds }, part }),
          );
    this.frames = this.loop.musicFrames;
    this.channels = this.loop.channels;
    this.probe = probe && { jack: probe.name, volts: this.loop.probes[0] as Float64Array };
  }

  /** The voice so far; no channels without one. */
  stem(): readonly Float64Array[] {
    const [first, ...others] = this.loop.stems;
    if (first === undefined || others.length === 0) return first ?? [];
    return first.map((samples, channel) =>
      samples.map((sample, at) =>
        others.reduce((sum, stem) => sum + (stem[channel]?.[at] as number), sample),
      ),
    );
  }

  get isWhole(): boolean {
    return this.loop.isWhole;
  }

  /** Frames played so far, the tail too. */
  get played(): number {
    return this.loop.frames;
  }

  /** Share of the way through the song to where it begins, while it is not there yet. */
  get way(): number | undefined {
    return this.loop instanceof KeptStretch && this.played === 0 ? this.loop.share : undefined;
  }

  /** Frames of the loop that are played so far. */
  get done(): number {
    return Math.min(this.frames, this.played);
  }

  /** Plays on until `now()` is past `until`, as much is there as is `wanted`, or the loop is whole. */
  play(until: number, now: () => number, wanted = Number.POSITIVE_INFINITY): void {
    const isShort = this.done < wanted;
    while (!this.isWhole) {
      this.loop.playOn();
      if (now() >= until || (isShort && this.done >= wanted)) return;
    }
  }

  /** What has been played since the last pieces; of a loop that is whole, the head too, now with its tail. */
  pieces(): readonly Sound[] {
    const { frames, isWhole, played, given, done } = this;
    this.given = done;
    if (!isWhole) return done > given ? [this.piece(given, done, false)] : [];
    const rung = Math.min(frames, Math.max(0, played - frames));
    // The last piece says that the loop is whole.
    return given < done
      ? [this.piece(0, Math.min(rung, given), false), this.piece(given, done, true)]
      : [this.piece(0, rung, true)];
  }

  private piece(from: number, to: number, isWhole: boolean): Sound {
    const { frames, probe } = this;
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
}

/** The buffers of a piece, to be handed over rather than copied. */
export function buffersOf({ channels, probe }: Sound): readonly ArrayBuffer[] {
  return [...channels, ...(probe ? [probe.volts] : [])].map(({ buffer }) => buffer as ArrayBuffer);
}
