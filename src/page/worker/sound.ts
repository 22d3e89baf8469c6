/**
 * The loop as `render --loop` makes it, in pieces: each is handed over as soon as it is played, the
 * last with what rings on after the end added to the head.
 */

import { KeptLoop, takeRound } from '../../engine/loop.ts';
import type { Prepared } from '../../engine/prepared.ts';
import type { Recording } from '../../engine/recording.ts';
import type { Part } from '../../engine/renderer.ts';
import type { Stem } from '../../engine/stems.ts';
import { KeptStretch, Stretch } from '../../engine/stretch.ts';
import { Take } from '../../engine/take.ts';
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
  /** How to be at a place soon, in place of that. */
  readonly soon?: Soon;
}

/**
 * A loop that is played from a place on, round to it again: what remembers nothing is left out up to there.
 * Each part begins where it says.
 */
export interface Soon {
  /** What remembers, by itself. */
  readonly before: Recording;
  /** What remembers nothing, from the place on, and from the start. */
  readonly part: Part;
  readonly head: Part;
}

/** A loop being played. */
export class LoopSound {
  readonly frames: number;
  /** The loop so far, 1.0 being full scale; whole once `isWhole`. */
  readonly channels: readonly Float64Array[];
  readonly probe: { readonly jack: string; readonly volts: Float64Array } | undefined;

  private readonly loop: KeptLoop | KeptStretch;
  private readonly before: Recording | undefined;
  /** Frames of the loop that are handed over, round from where it starts. */
  private given = 0;

  /**
   * @param of a checked patch with exactly one output module and no count-in.
   */
  constructor(of: Prepared, options: LoopSoundOptions) {
    const { seconds, start = 0, probe, stems = [], soon, part = soon?.part } = options;
    const heard = {
      sampleRate: USUAL_RATE,
      probes: probe === undefined ? [] : [probe.jack],
      stems,
    };
    const ofSeconds = (value: number) => ({ unit: 'seconds' as const, value });
    const headOf = ({ part: { from = 0 }, head }: Soon): Take =>
      new Take(of, {
        ...heard,
        length: ofSeconds(from / USUAL_RATE),
        tail: ofSeconds(0),
        part: head,
      });
    this.before = soon?.before;
    this.loop =
      start > 0
        ? new KeptStretch(new Stretch(of, { ...heard, from: start, to: start + seconds }))
        : new KeptLoop(
            takeRound(of, { ...heard, length: ofSeconds(seconds), part }),
            undefined,
            soon && headOf(soon),
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

  /** Share of the way through the song to where it begins, while it is not there yet. */
  get way(): number | undefined {
    return this.loop instanceof KeptStretch && this.done === 0 ? this.loop.share : undefined;
  }

  /** Frames of the loop that are there, round from where it starts. */
  get done(): number {
    return this.loop instanceof KeptStretch ? this.loop.frames : this.loop.done;
  }

  /** The frame that is played first. */
  private get start(): number {
    return this.loop instanceof KeptStretch ? 0 : this.loop.start;
  }

  /** Whether all is there from where it starts up to a share of the loop; over 1 in its next round. */
  isThere(until: number): boolean {
    return this.isWhole || this.done >= until * this.frames - this.start;
  }

  /** Plays on until `now()` is past `until`, as much is there as is `wanted`, or the loop is whole. */
  play(until: number, now: () => number, wanted = Number.POSITIVE_INFINITY): void {
    const { before, start } = this;
    if (before !== undefined)
      while (before.frames <= start) {
        before.playOn();
        if (now() >= until) return;
      }
    const isShort = !this.isThere(wanted);
    while (!this.isWhole) {
      this.loop.playOn();
      if (now() >= until || (isShort && this.isThere(wanted))) return;
    }
  }

  /** What has been played since the last pieces; of a loop that is whole, the head too, now with its tail. */
  pieces(): readonly Sound[] {
    const { frames, isWhole, start, given, done } = this;
    this.given = done;
    // Not over the end of the loop in one.
    const turn = frames - start;
    const fresh = [
      [given, Math.min(done, turn), start],
      [Math.max(given, turn), done, start - frames],
    ].flatMap(([from = 0, to = 0, shift = 0]) =>
      from < to ? [this.piece(from + shift, to + shift, false)] : [],
    );
    if (!isWhole) return fresh;
    // The last piece says that the loop is whole.
    const rung = this.loop instanceof KeptStretch ? 0 : this.loop.rung;
    return [...fresh, this.piece(0, Math.min(frames, rung), true)];
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
