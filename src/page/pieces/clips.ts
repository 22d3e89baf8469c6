/**
 * The clips of a page: in the page itself, chosen by a person, or in files beside it; the first place that has one
 * counts.
 */

import { linkTo } from '../../output/markup.ts';
import type { PageClip } from './clip.ts';
import type { Playable } from './player.ts';

export class Clips {
  readonly all: readonly PageClip[];
  private readonly chosen = new Map<string, File>();
  private readonly read = new Map<number, Playable>();

  constructor(all: readonly PageClip[]) {
    this.all = all;
  }

  /** A clip as the player takes it; undefined if its file cannot be read from here. */
  async playable(index: number): Promise<Playable | undefined> {
    const clip = this.all[index];
    if (clip === undefined || this.read.has(index)) return this.read.get(index);
    try {
      const playable = await decoded(await this.bytesOf(clip), clip.sampleRate);
      this.read.set(index, playable);
      return playable;
    } catch {
      return undefined;
    }
  }

  /** How long a clip lasts that has been read, s. */
  secondsOf(index: number): number | undefined {
    const playable = this.read.get(index);
    return playable && playable.frames / playable.sampleRate;
  }

  /** Takes files that a person has chosen. @returns those that are still missing. */
  take(files: Iterable<File>): readonly string[] {
    for (const file of files) this.chosen.set(file.name, file);
    return this.all
      .filter(({ file, data }) => data === undefined && !this.chosen.has(file))
      .map(({ file }) => file);
  }

  private async bytesOf({ file, data }: PageClip): Promise<ArrayBuffer> {
    if (data !== undefined)
      return Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0)).buffer;
    const chosen = this.chosen.get(file);
    if (chosen !== undefined) return chosen.arrayBuffer();
    const answer = await fetch(linkTo(file));
    if (!answer.ok) throw new Error(answer.statusText);
    return answer.arrayBuffer();
  }
}

/** Decodes without a change of rate; works before a person's gesture has allowed the page to play. */
async function decoded(bytes: ArrayBuffer, sampleRate: number): Promise<Playable> {
  const offline = new OfflineAudioContext({ numberOfChannels: 1, length: 1, sampleRate });
  const buffer = await offline.decodeAudioData(bytes);
  const channels = Array.from({ length: buffer.numberOfChannels }, (_, index) =>
    buffer.getChannelData(index),
  );
  return { channels, frames: buffer.length, sampleRate, level: 1, buffer };
}
