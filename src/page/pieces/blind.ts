/**
 * A blind test of two sounds. X is one of the two, drawn by lot each time; the result is shown only
 * at the end, since a test that stops when the score is good proves nothing.
 */

import { chanceOfGuessing, verdictOf } from './odds.ts';

/** What can be heard in a blind test. */
export type TrialSound = 'first' | 'x' | 'second';

export interface Trial {
  /** Numbers of the two sounds, in an order drawn by lot. */
  readonly pair: readonly [first: number, second: number];
  readonly trials: number;
  /** Of this trial, from 1. */
  readonly number: number;
  readonly right: number;
  /** Which of the pair X is. */
  readonly x: 0 | 1;
  readonly heard: TrialSound;
  /** Whether X has been heard since it was drawn. */
  readonly isHeard: boolean;
}

/** What a page knows of the test. */
export interface BlindState {
  readonly trial: Trial | undefined;
  /** Whether the number of trials asked for is invalid. */
  readonly isWrongCount: boolean;
  readonly result: string;
}

export const NO_BLIND: BlindState = { trial: undefined, isWrongCount: false, result: '' };

/** What the test needs from the page. */
export interface BlindPlace {
  readonly store: {
    readonly now: BlindState;
    put(parts: Partial<BlindState>): void;
  };
  /** Makes a sound ready, so that waiting times reveal nothing. @returns whether it can be heard. */
  readonly ready: (sound: number) => Promise<boolean>;
  /** Plays it, at the same place of the loop. */
  readonly sound: (sound: number) => void;
  readonly silence: () => void;
  readonly title: (sound: number) => string;
  readonly tell: (message: string) => void;
  /** Is told when a test is over. */
  readonly ended?: () => void;
}

export const LEAST_TRIALS = 5;
/** Up to which the odds are exact. */
export const MOST_TRIALS = 50;

export class BlindTest {
  private readonly place: BlindPlace;

  constructor(place: BlindPlace) {
    this.place = place;
  }

  private get now(): BlindState {
    return this.place.store.now;
  }

  /** Whether the number of trials asked for is invalid. */
  get isWrongCount(): boolean {
    return this.now.isWrongCount;
  }

  /** Begins a test. @param count of trials, as it was typed. */
  async begin([a, b]: readonly [number, number], count: string): Promise<void> {
    const { store, ready, tell, silence } = this.place;
    if (a === b) {
      tell('Choose two different ones first.');
      return;
    }
    const trials = Number(count);
    const isRight = Number.isInteger(trials) && trials >= LEAST_TRIALS && trials <= MOST_TRIALS;
    store.put({ isWrongCount: !isRight });
    if (!isRight) {
      tell(`Trials: a whole number from ${LEAST_TRIALS} to ${MOST_TRIALS}.`);
      return;
    }
    for (const sound of [a, b]) if (!(await ready(sound))) return;
    if (this.now.trial !== undefined) return;
    silence();
    store.put({ result: '' });
    this.ask({ pair: coin() === 1 ? [b, a] : [a, b], trials, number: 1, right: 0 });
  }

  hear(heard: TrialSound): void {
    const { trial } = this.now;
    if (trial === undefined) return;
    this.place.store.put({ trial: { ...trial, heard, isHeard: trial.isHeard || heard === 'x' } });
    this.place.sound(soundOf(trial, heard));
  }

  /** Says which of the two X is. */
  answer(which: 0 | 1): void {
    const { trial } = this.now;
    if (trial === undefined) return;
    // This also keeps the second of two quick clicks from answering for the next X.
    if (!trial.isHeard) {
      this.place.tell('Hear X before you say which it is.');
      return;
    }
    const { title, silence } = this.place;
    const right = trial.right + (which === trial.x ? 1 : 0);
    silence();
    if (trial.number < trial.trials) this.ask({ ...trial, number: trial.number + 1, right });
    else
      this.end(
        `${verdictOf(right, trial.trials, chanceOfGuessing(right, trial.trials))} The first was ${title(trial.pair[0])}, the second ${title(trial.pair[1])}.`,
      );
  }

  giveUp(): void {
    this.place.silence();
    this.end('The test was given up; it shows nothing.');
  }

  private ask(trial: Pick<Trial, 'pair' | 'trials' | 'number' | 'right'>): void {
    this.place.store.put({ trial: { ...trial, x: coin(), heard: 'x', isHeard: false } });
    this.place.tell(
      `Trial ${trial.number} of ${trial.trials}. Listen, then say which of the two X is.`,
    );
  }

  private end(result: string): void {
    this.place.store.put({ trial: undefined, result });
    this.place.tell(result);
    this.place.ended?.();
  }
}

/** Which of a page's sounds is heard. */
export function soundOf({ pair, x }: Trial, heard: TrialSound): number {
  return pair[heard === 'x' ? x : heard === 'first' ? 0 : 1];
}

function coin(): 0 | 1 {
  return ((crypto.getRandomValues(new Uint8Array(1))[0] as number) & 1) as 0 | 1;
}
