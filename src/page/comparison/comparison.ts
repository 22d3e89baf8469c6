/**
 * The comparison behind its parts: one clip sounds at a time, and another takes over at the same place.
 * In a blind test X is one of two clips, drawn by lot each time; the result is told at the end alone, for
 * who stops when the score is good proves nothing.
 */

import { chosenWords, UNREAD } from '../pieces/chooser.tsx';
import type { Clips } from '../pieces/clips.ts';
import { type Deck, FIRST_VOLUME, factorOf } from '../pieces/deck.ts';
import { type Playable, Player } from '../pieces/player.ts';
import { Store } from '../pieces/store.ts';
import { chanceOfGuessing, verdictOf } from './odds.ts';

export type Side = 'a' | 'b';
/** What can be heard in a blind test. */
export type TrialSound = 'first' | 'x' | 'second';

export interface Trial {
  /** Indices of the two clips, in an order drawn by lot. */
  readonly pair: readonly [first: number, second: number];
  readonly trials: number;
  /** Of this one, from 1. */
  readonly number: number;
  readonly right: number;
  /** Which of the pair X is. */
  readonly x: 0 | 1;
  readonly heard: TrialSound;
  /** Whether X has been heard since it was drawn. */
  readonly isHeard: boolean;
}

export interface ComparisonState {
  /** The clips that are A and B. */
  readonly a: number;
  readonly b: number;
  /** The clip that sounds; undefined in silence. */
  readonly sounds: number | undefined;
  /** What the player has, even in silence. */
  readonly taken: Playable | undefined;
  readonly volume: number;
  readonly trial: Trial | undefined;
  /** Whether how many trials are asked for makes no test. */
  readonly isWrongCount: boolean;
  readonly result: string;
  readonly needsFiles: boolean;
  readonly hasKeys: boolean;
  readonly message: string;
}

export const LEAST_TRIALS = 5;
/** Up to which the odds are exact. */
export const MOST_TRIALS = 50;

export class ComparisonSession {
  readonly clips: Clips;
  readonly store: Store<ComparisonState>;
  readonly deck: Deck;
  private readonly player: Player;
  /** Counts what is asked to sound or to stop: what was asked for last holds, whatever is ready first. */
  private asked = 0;

  constructor(clips: Clips) {
    this.clips = clips;
    this.store = new Store<ComparisonState>({
      a: 0,
      b: Math.max(0, clips.all.length - 1),
      sounds: undefined,
      taken: undefined,
      volume: FIRST_VOLUME,
      trial: undefined,
      isWrongCount: false,
      result: '',
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
    this.setVolume(this.now.volume);
  }

  private get now(): ComparisonState {
    return this.store.now;
  }

  nameOf(index: number): string {
    return this.clips.all[index]?.name ?? '';
  }

  // What is heard.

  /** Lets a clip sound, from where the last one is. */
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

  /** Takes a clip as A or B; what plays gives way to it. */
  choose(side: Side, index: number): void {
    this.store.put({ [side]: index });
    if (this.player.isPlaying) this.hearSide(side);
  }

  /** Lets a clip sound, or stops it. */
  toggleClip(index: number): void {
    if (this.now.sounds === index) this.stop();
    else void this.hear(index);
  }

  toggle(): void {
    const { trial } = this.now;
    if (this.player.isPlaying) this.stop();
    else if (trial !== undefined) this.hearBlind(trial.heard);
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

  // The blind test.

  /** Begins a test of A and B. @param count of trials, as it was typed. */
  async begin(count: string): Promise<void> {
    const { a, b } = this.now;
    if (a === b) {
      this.say('Choose two different clips for A and B first.');
      return;
    }
    const trials = Number(count);
    const isRight = Number.isInteger(trials) && trials >= LEAST_TRIALS && trials <= MOST_TRIALS;
    this.store.put({ isWrongCount: !isRight });
    if (!isRight) {
      this.say(`Trials: a whole number from ${LEAST_TRIALS} to ${MOST_TRIALS}.`);
      return;
    }
    // Both are ready before it starts, so that waiting tells nothing.
    for (const index of [a, b]) if ((await this.read(index)) === undefined) return;
    if (this.now.trial !== undefined) return;
    this.stop();
    this.store.put({ result: '' });
    this.ask({ pair: coin() === 1 ? [b, a] : [a, b], trials, number: 1, right: 0 });
  }

  hearBlind(heard: TrialSound): void {
    const { trial } = this.now;
    if (trial === undefined) return;
    this.store.put({ trial: { ...trial, heard, isHeard: trial.isHeard || heard === 'x' } });
    const which = heard === 'x' ? trial.x : heard === 'first' ? 0 : 1;
    void this.hear(trial.pair[which]);
  }

  /** Says which of the two X is. */
  answer(which: 0 | 1): void {
    const { trial } = this.now;
    if (trial === undefined) return;
    // Nor does the second of two quick clicks answer for the next X.
    if (!trial.isHeard) {
      this.say('Hear X before you say which it is.');
      return;
    }
    const right = trial.right + (which === trial.x ? 1 : 0);
    this.stop();
    if (trial.number < trial.trials) this.ask({ ...trial, number: trial.number + 1, right });
    else
      this.end(
        `${verdictOf(right, trial.trials, chanceOfGuessing(right, trial.trials))} The first was ${this.nameOf(trial.pair[0])}, the second ${this.nameOf(trial.pair[1])}.`,
      );
  }

  giveUp(): void {
    this.stop();
    this.end('The test was given up; it shows nothing.');
  }

  private ask(trial: Pick<Trial, 'pair' | 'trials' | 'number' | 'right'>): void {
    this.store.put({
      trial: { ...trial, x: coin(), heard: 'x', isHeard: false },
      message: `Trial ${trial.number} of ${trial.trials}. Listen, then say which of the two X is.`,
    });
  }

  private end(result: string): void {
    this.store.put({ trial: undefined, result, message: result });
  }
}

function spanOf(taken: Playable | undefined) {
  return taken && { bars: [], frames: taken.frames, sampleRate: taken.sampleRate };
}

function coin(): 0 | 1 {
  return ((crypto.getRandomValues(new Uint8Array(1))[0] as number) & 1) as 0 | 1;
}
