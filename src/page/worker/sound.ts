/**
 * The loop as `render --loop` makes it, in pieces: each is sent as soon as it is played, the
 * last with the tail after the end added to the head.
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
import type { SoundStretch } from '../protocol.ts';

export interface LoopSoundOptions {
  /** s, from `placeOf`. */
  readonly seconds: number;
  /** s, where in the song it begins; 0 unless given. */
  readonly start?: number;
  /** A jack to listen at beside the mix, and its name. */
  readonly probe?: { readonly jack: JackRef; readonly name: string };
  /** The stems that sum to a voice, to listen to beside the mix. */
  readonly stems?: readonly Stem[];
  /** The part of the patch that is to be played, if the rest has been kept. */
  readonly part?: Part;
  /** How to get to a place quickly, in place of `part`. */
  readonly soon?: Soon;
}

/**
 * A loop that is played from a place on, once round: up to there only modules with memory are played.
 * Each part begins at its own place.
 */
export interface Soon {
  /** The modules with memory, by themselves. */
  readonly before: Recording;
  /** The modules without memory, from the place on, and from the start. */
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
  /** Frames of the loop that were sent, counted round from where it starts. */
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
        round: ofSeconds(seconds),
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

  /** The voice so far; no channels if there is none. */
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

  /** The share of the way through the song to where the loop begins, until it is reached. */
  get way(): number | undefined {
    return this.loop instanceof KeptStretch && this.done === 0 ? this.loop.share : undefined;
  }

  /** Frames of the loop that are rendered, counted round from where it starts. */
  get done(): number {
    return this.loop instanceof KeptStretch ? this.loop.frames : this.loop.done;
  }

  /** The frame that is played first. */
  private get start(): number {
    return this.loop instanceof KeptStretch ? 0 : this.loop.start;
  }

  /** Whether everything is rendered from where it starts up to a share of the loop; over 1 is its next round. */
  isThere(until: number): boolean {
    return this.isWhole || this.done >= until * this.frames - this.start;
  }

  /** Plays on until `now()` is past `until`, `wanted` frames are rendered, or the loop is whole. */
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

  /** The sound played since the last pieces; once the loop is whole also the head, now with the tail added. */
  pieces(): readonly SoundStretch[] {
    const { frames, isWhole, start, given, done } = this;
    this.given = done;
    // A piece must not cross the end of the loop.
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

  private piece(from: number, to: number, isWhole: boolean): SoundStretch {
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

/** The buffers of a piece, to be transferred rather than copied. */
export function buffersOf({ channels, probe }: SoundStretch): readonly ArrayBuffer[] {
  return [...channels, ...(probe ? [probe.volts] : [])].map(({ buffer }) => buffer as ArrayBuffer);
}
