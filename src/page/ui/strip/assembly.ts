/** Puts the stretches of a loop together as the engine renders them. */

import type { LoopLoudness, SoundStretch } from '../../protocol.ts';

export interface AssembledLoop extends LoopLoudness {
  /** The number of the request that it answers. */
  readonly of: number;
  readonly channels: readonly Float32Array<ArrayBuffer>[];
  readonly frames: number;
  /** The frames from `start` to `ready` are rendered; all of them once it is whole. */
  readonly start: number;
  readonly ready: number;
  readonly isWhole: boolean;
  readonly peakDbfs?: number;
  /** Whether it is one voice of the mix or all but one, rather than the mix. */
  readonly isPart: boolean;
  readonly probe?: { readonly jack: string; readonly volts: Float32Array<ArrayBuffer> };
}

export class Assembly {
  /** The number of the request that this loop answers. */
  readonly id: number;
  private readonly channels: Float32Array<ArrayBuffer>[];
  private readonly frames: number;
  private probe: { jack: string; volts: Float32Array<ArrayBuffer> } | undefined;
  private readonly start: number;
  private ready: number;

  /** @param before the loop that is heard where nothing is rendered yet, if it has the same length. */
  constructor(id: number, first: SoundStretch, before: AssembledLoop | undefined) {
    this.id = id;
    this.frames = first.frames;
    this.start = first.from;
    this.ready = first.from;
    this.channels = first.channels.map((_, index) => {
      const old = before?.frames === first.frames ? before.channels[index] : undefined;
      return old === undefined ? new Float32Array(first.frames) : old.slice();
    });
  }

  /** Adds a stretch; a later stretch overwrites an earlier one. */
  add(sound: SoundStretch): AssembledLoop {
    const { from, channels, probe, isWhole, loudnessLufs, loudnessSteps, peakDbfs } = sound;
    channels.forEach((samples, index) => {
      this.channels[index]?.set(samples, from);
    });
    if (probe !== undefined) {
      if (this.probe?.jack !== probe.jack)
        this.probe = { jack: probe.jack, volts: new Float32Array(this.frames) };
      this.probe.volts.set(probe.volts, from);
    }
    const end = from + (channels[0]?.length ?? probe?.volts.length ?? 0);
    if (from >= this.start && from <= this.ready) this.ready = Math.max(this.ready, end);
    return {
      of: this.id,
      channels: this.channels,
      frames: this.frames,
      start: isWhole ? 0 : this.start,
      ready: isWhole ? this.frames : this.ready,
      isWhole,
      isPart: sound.isPart ?? false,
      ...(loudnessLufs === undefined ? {} : { loudnessLufs }),
      ...(loudnessSteps === undefined ? {} : { loudnessSteps }),
      ...(peakDbfs === undefined ? {} : { peakDbfs }),
      ...(this.probe === undefined ? {} : { probe: this.probe }),
    };
  }
}
