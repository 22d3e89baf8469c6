/** The comparison behind its parts: one clip sounds at a time, and another takes over at the same place. */

import { type BlindState, BlindTest, NO_BLIND } from '../pieces/blind.ts';
import { chosenWords, UNREAD } from '../pieces/chooser.tsx';
import type { Clips } from '../pieces/clips.ts';
import { type Deck, FIRST_VOLUME, factorOf } from '../pieces/deck.ts';
import { type Playable, Player } from '../pieces/player.ts';
import { Store } from '../pieces/store.ts';

export type Side = 'a' | 'b';
export interface ComparisonState extends BlindState {
  /** The clips that are A and B. */
  readonly a: number;
  readonly b: number;
  /** The clip that plays; undefined in silence. */
  readonly sounds: number | undefined;
  /** What the player is loaded with, even in silence. */
  readonly taken: Playable | undefined;
  readonly volume: number;
  readonly needsFiles: boolean;
  readonly hasKeys: boolean;
  readonly message: string;
}

export class ComparisonSession {
  readonly clips: Clips;
  readonly store: Store<ComparisonState>;
  readonly deck: Deck;
  readonly blind: BlindTest;
  private readonly player: Player;
  /** Counts requests to play or to stop: the last one holds, whichever sound is ready first. */
  private asked = 0;

  constructor(clips: Clips) {
    this.clips = clips;
    this.store = new Store<ComparisonState>({
      a: 0,
      b: Math.max(0, clips.all.length - 1),
      sounds: undefined,
      taken: undefined,
      volume: FIRST_VOLUME,
      ...NO_BLIND,
      needsFiles: false,
      hasKeys: true,
      message: 'Stopped.',
    });
    this.player = new Player(() => this.show());
    this.deck = {
      player: this.player,
      span: () => spanOf(this.now.taken),
      listen: (listener) => this.store.listen(listener),
    };
    this.blind = new BlindTest({
      store: this.store,
      ready: async (index) => (await this.read(index)) !== undefined,
      sound: (index) => void this.hear(index),
      silence: () => this.stop(),
      title: (index) => this.nameOf(index),
      tell: (message) => this.say(message),
    });
    this.setVolume(this.now.volume);
  }

  private get now(): ComparisonState {
    return this.store.now;
  }

  nameOf(index: number): string {
    return this.clips.all[index]?.name ?? '';
  }

  /** Whether the place in the loop would give away in a blind test which clip it is: it moves at another pace. */
  get isPaceTelling(): boolean {
    const { trial } = this.now;
    if (trial === undefined) return false;
    const [one, other] = trial.pair.map((index) => this.clips.secondsOf(index));
    return one !== other;
  }

  // Playing.

  /** Plays a clip, from the place of the last one. */
  async hear(index: number): Promise<void> {
    const mine = ++this.asked;
    this.player.awaken(this.clips.all[index]?.sampleRate as number);
    const playable = await this.read(index);
    if (playable === undefined || mine !== this.asked) return;
    this.store.put({ sounds: index, taken: playable });
    this.player.take(playable);
    this.player.play();
    this.show();
  }

  hearSide(side: Side): void {
    void this.hear(this.now[side]);
  }

  /** Takes a clip as A or B; it replaces the one that plays. */
  choose(side: Side, index: number): void {
    this.store.put({ [side]: index });
    if (this.player.isPlaying) this.hearSide(side);
  }

  /** Plays a clip, or stops it. */
  toggleClip(index: number): void {
    if (this.now.sounds === index) this.stop();
    else void this.hear(index);
  }

  toggle(): void {
    const { trial } = this.now;
    if (this.player.isPlaying) this.stop();
    else if (trial !== undefined) this.blind.hear(trial.heard);
    else this.hearSide('a');
  }

  stop(): void {
    this.asked += 1;
    this.player.stop();
    this.show();
  }

  /** @param volume dB. */
  setVolume(volume: number): void {
    this.player.setVolume(factorOf(volume));
    this.store.put({ volume });
  }

  setKeys(hasKeys: boolean): void {
    this.store.put({ hasKeys });
  }

  takeFiles(files: Iterable<File>): void {
    this.say(chosenWords(this.clips.take(files)));
  }

  private async read(index: number): Promise<Playable | undefined> {
    const playable = await this.clips.playable(index);
    if (playable === undefined) this.store.put({ needsFiles: true, message: UNREAD });
    return playable;
  }

  private show(): void {
    const { isPlaying } = this.player;
    const sounds = isPlaying ? this.now.sounds : undefined;
    this.store.put({ sounds });
    if (this.now.trial === undefined)
      this.say(sounds === undefined ? 'Stopped.' : `Sounding: ${this.nameOf(sounds)}.`);
  }

  private say(message: string): void {
    this.store.put({ message });
  }
}

function spanOf(taken: Playable | undefined) {
  return taken && { bars: [], frames: taken.frames, sampleRate: taken.sampleRate };
}
