/**
 * Listening: loops are put together as the engine renders them, and handed to the player as soon as
 * enough of them is rendered.
 */

import { haveSameTexts, type PatchTexts } from '../../../patch/texts.ts';
import type { Playable, Player } from '../../pieces/player.ts';
import type { Store } from '../../pieces/store.ts';
import type { Hearing, SoundStretch } from '../../protocol.ts';
import type { SheetState } from '../sheet-state.ts';
import { blindSound, equalGain, type Version } from '../versions/bank.ts';
import { type AssembledLoop, Assembly } from './assembly.ts';
import { heardVolts } from './heard-volts.ts';

/** s of sound that must be rendered before a loop that is not whole takes over, and before it runs out. */
const ENOUGH = 0.4;
const SHORT = 0.25;
/** s that a loop plays on while a change is on its way. */
const ON_ITS_WAY = 0.1;

export class Listening {
  private readonly store: Store<SheetState>;
  private readonly player: Player;
  private assembly: Assembly | undefined;
  /** Frames of the assembly that the player has; undefined if it has none yet. */
  private taken: number | undefined;
  /** Whether the player has it with its tail wrapped round: the samples of the command line. */
  private isWhole = false;

  constructor(store: Store<SheetState>, player: Player) {
    this.store = store;
    this.player = player;
  }

  private get now(): SheetState {
    return this.store.now;
  }

  /** Where a loop that is requested now would start to be heard, and how much of it must be rendered for that. */
  hearing(): Hearing {
    const { view } = this.now;
    if (view === undefined) return { at: 0, until: 1 };
    const { frames, sampleRate } = view.loop;
    const at = this.player.next();
    return { at, until: at + ((ENOUGH + ON_ITS_WAY) * sampleRate) / frames };
  }

  /** Takes a stretch of the loop. @returns whether the player gets the loop with it. */
  take(id: number, sound: SoundStretch): boolean {
    if (id < (this.assembly?.id ?? 0)) return false;
    if (this.assembly?.id !== id) {
      this.assembly = new Assembly(id, sound, this.now.loop);
      this.taken = undefined;
      this.isWhole = false;
    }
    const sampleRate = this.now.view?.loop.sampleRate;
    if (sampleRate === undefined) return false;
    const loop = this.assembly.add(sound);
    const covers = (ready: number, seconds: number): boolean =>
      this.player.covers(loop.start, ready, loop.frames, sampleRate, seconds);
    const wasWhole = this.isWhole;
    const isWanted =
      loop.isWhole ||
      (this.taken === undefined
        ? covers(loop.ready, ENOUGH)
        : !covers(this.taken, SHORT) && covers(loop.ready, SHORT));
    if (!isWanted) return false;
    this.taken = loop.ready;
    this.isWhole = loop.isWhole;
    this.store.put({ loop });
    // The last piece only adds the loudness; the sound is the same.
    if (!wasWhole || this.now.isEqual) this.level();
    if (loop.isWhole) this.complete(loop);
    return true;
  }

  /** A version that was kept before its sound and loudness were there gets them. */
  private complete(loop: AssembledLoop): void {
    const { versions, heard, view } = this.now;
    // What comes before its loudness may come before its texts, too.
    if (loop.isPart || loop.loudnessLufs === undefined) return;
    if (heard !== undefined && versions.some((version) => isBare(version, heard)))
      this.store.put({
        versions: versions.map((version) =>
          isBare(version, heard) ? { ...version, loop, view } : version,
        ),
      });
  }

  /** Gives the player the sound to be heard, at its level. */
  level(): void {
    const { loop, probe, view, isEqual, versions, along } = this.now;
    if (along !== undefined) {
      this.give(along.sounding);
      return;
    }
    const sampleRate = view?.loop.sampleRate;
    const blind = blindSound(this.now.trial, versions);
    if (blind !== undefined && sampleRate !== undefined) {
      const { channels, frames } = blind.loop;
      this.give({ channels, frames, sampleRate, level: 10 ** (blind.gainDb / 20) });
      return;
    }
    if (loop === undefined || sampleRate === undefined) return;
    const { frames, ready } = loop;
    if (probe !== undefined && loop.probe?.jack === probe) {
      const channels = [heardVolts(loop.probe.volts, sampleRate)];
      this.give({ channels, frames, sampleRate, level: 1 });
      return;
    }
    const gain = isEqual ? equalGain(loop, versions) : 0;
    // Of a loop that is still being rendered, only the rendered part is handed on.
    const channels = loop.channels.map((samples) => samples.subarray(0, ready));
    this.give({ channels, frames, sampleRate, level: 10 ** (gain / 20) });
  }

  private give(sounding: Playable): void {
    this.player.take(sounding);
    this.store.put({ sounding });
  }
}

/** The whole sound of the patch that is heard; undefined while it is on its way, or only a part of the mix is heard. */
export function wholeMix({ loop, heardSince }: SheetState): AssembledLoop | undefined {
  return loop?.isWhole === true && !loop.isPart && loop.of >= heardSince ? loop : undefined;
}

/** The message while a jack is heard in place of the mix. */
export function listeningAt(jack: string): string {
  return `Listening at ${jack}.`;
}

function isBare({ loop, files }: Version, now: PatchTexts): boolean {
  return loop?.loudnessLufs === undefined && haveSameTexts(files, now);
}
