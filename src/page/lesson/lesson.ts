/** The lesson behind its parts: plays one stage at a time, from its start. */

import { chosenWords, UNREAD } from '../pieces/chooser.tsx';
import type { PageClip } from '../pieces/clip.ts';
import { Clips } from '../pieces/clips.ts';
import { type Deck, FIRST_VOLUME, factorOf } from '../pieces/deck.ts';
import { type Playable, Player } from '../pieces/player.ts';
import { Store } from '../pieces/store.ts';

export interface LessonState {
  /** The stage that plays, or that played last; at first the first stage that can be heard. */
  readonly stage: number;
  readonly isPlaying: boolean;
  /** What the player is loaded with. */
  readonly taken: Playable | undefined;
  readonly volume: number;
  /** Whether a stage plays again and again. */
  readonly isAround: boolean;
  /** Whether the next stage follows automatically. */
  readonly goesOn: boolean;
  readonly needsFiles: boolean;
  readonly hasKeys: boolean;
  readonly message: string;
}

export class LessonSession {
  readonly store: Store<LessonState>;
  readonly deck: Deck;
  private readonly player: Player;
  private readonly clips: Clips;
  /** For each stage which clip it has; undefined for one that is a picture only. */
  private readonly clipAt: readonly (number | undefined)[];
  /** Counts requests to play or to stop: the last one holds, whichever sound is ready first. */
  private asked = 0;
  /** Whether a stop was requested, rather than the stage being over. */
  private isStopping = false;

  /** @param stages the clip of each, or null. */
  constructor(stages: readonly (PageClip | null)[]) {
    const heard = stages.filter((clip) => clip !== null);
    this.clips = new Clips(heard);
    this.clipAt = stages.map((clip) => (clip === null ? undefined : heard.indexOf(clip)));
    this.store = new Store<LessonState>({
      stage: Math.max(
        0,
        stages.findIndex((clip) => clip !== null),
      ),
      isPlaying: false,
      taken: undefined,
      volume: FIRST_VOLUME,
      isAround: false,
      goesOn: false,
      needsFiles: false,
      hasKeys: true,
      message: 'Stopped.',
    });
    this.player = new Player(() => this.show());
    this.player.setAround(false);
    this.deck = {
      player: this.player,
      span: () => {
        const { taken } = this.now;
        return taken && { bars: [], frames: taken.frames, sampleRate: taken.sampleRate };
      },
      listen: (listener) => this.store.listen(listener),
    };
    this.setVolume(this.now.volume);
  }

  private get now(): LessonState {
    return this.store.now;
  }

  nameOf(stage: number): string {
    return this.clips.all[this.clipAt[stage] ?? -1]?.name ?? '';
  }

  canHear(stage: number): boolean {
    return this.clipAt[stage] !== undefined;
  }

  /** Plays a stage from its start. */
  async hear(stage: number): Promise<void> {
    const index = this.clipAt[stage];
    if (index === undefined) return;
    const playable = await this.ready(index);
    if (playable === undefined) return;
    this.halt();
    this.store.put({ stage, taken: playable });
    this.player.take(playable);
    this.player.seek(0);
    this.player.play();
  }

  /** Plays a stage, or stops it. */
  toggleStage(stage: number): void {
    if (this.now.isPlaying && this.now.stage === stage) this.stop();
    else void this.hear(stage);
  }

  /** Continues from the current place, or stops. */
  toggle(): void {
    const { taken, stage } = this.now;
    if (this.player.isPlaying) this.stop();
    else if (taken === undefined) void this.hear(stage);
    else this.player.play();
  }

  stop(): void {
    this.asked += 1;
    this.halt();
  }

  /** @param volume dB. */
  setVolume(volume: number): void {
    this.player.setVolume(factorOf(volume));
    this.store.put({ volume });
  }

  /** A stage that repeats has no next. */
  setAround(isAround: boolean): void {
    this.player.setAround(isAround);
    this.store.put({ isAround, ...(isAround && { goesOn: false }) });
  }

  setGoesOn(goesOn: boolean): void {
    if (goesOn) this.setAround(false);
    this.store.put({ goesOn });
  }

  setKeys(hasKeys: boolean): void {
    this.store.put({ hasKeys });
  }

  takeFiles(files: Iterable<File>): void {
    this.store.put({ message: chosenWords(this.clips.take(files)) });
  }

  /** Reads a clip. @returns undefined if it cannot be read, or something else was asked for meanwhile. */
  private async ready(index: number): Promise<Playable | undefined> {
    const mine = ++this.asked;
    this.player.awaken(this.clips.all[index]?.sampleRate as number);
    const playable = await this.clips.playable(index);
    if (playable === undefined) this.store.put({ needsFiles: true, message: UNREAD });
    return mine === this.asked ? playable : undefined;
  }

  private halt(): void {
    this.isStopping = true;
    this.player.stop();
    this.isStopping = false;
  }

  private show(): void {
    const { isPlaying } = this.player;
    const { stage, isPlaying: wasPlaying, goesOn } = this.now;
    this.store.put({
      isPlaying,
      message: isPlaying ? `Sounding: ${this.nameOf(stage)}.` : 'Stopped.',
    });
    if (!wasPlaying || isPlaying || this.isStopping || !goesOn) return;
    const next = this.clipAt.findIndex((clip, at) => at > stage && clip !== undefined);
    if (next >= 0) void this.hear(next);
  }
}
