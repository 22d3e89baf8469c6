/**
 * Changes on their way to the engine. One is under way at a time, until it is heard; of those that come
 * meanwhile the newest of each place goes next. So a fast hand never builds a queue, and hears where it
 * passes: a newer request would end the rendering of an older one.
 */

import type { PatchChange } from '../protocol.ts';

/** What became of a change: nothing if it was made or overtaken, else the words of its refusal. */
export type ChangeOutcome = string | undefined;

interface Move {
  readonly change: PatchChange;
  readonly done: (outcome: ChangeOutcome) => void;
}

/** ms that a change may take to be heard before the next one goes: patches of any size stay movable. */
const PATIENCE = 400;

/** What a change changes. */
export function changedPlace(change: PatchChange): string {
  switch (change.type) {
    case 'setting':
      return `${change.module}.${change.setting}`;
    case 'steps':
      return `${change.module} ${change.pattern} ${change.channel}`;
    case 'word':
      return `${change.module} ${JSON.stringify(change.at)} ${change.word}`;
    case 'song':
      return `${change.module} song ${change.turn}`;
  }
}

export class Moves {
  private readonly send: (change: PatchChange) => number;
  private readonly waiting = new Map<string, Move>();
  private flight: (Move & { readonly id: number }) | undefined;
  /** The request that was made and is yet to be heard. */
  private unheard: number | undefined;
  /** Who waits until there is nothing on its way. */
  private idle: (() => void)[] = [];
  /** The latest that can be heard. */
  private latestHeard: number | undefined;

  /** @param send asks the engine and gives the request's number. */
  constructor(send: (change: PatchChange) => number) {
    this.send = send;
  }

  make(change: PatchChange): Promise<ChangeOutcome> {
    return new Promise((done) => {
      const place = changedPlace(change);
      this.waiting.get(place)?.done(undefined);
      // At the end of the line, as the newest.
      this.waiting.delete(place);
      this.waiting.set(place, { change, done });
      this.next();
    });
  }

  /** Ends once all changes are made or refused. */
  settled(): Promise<void> {
    return new Promise((done) => {
      this.idle.push(done);
      this.rest();
    });
  }

  private rest(): void {
    if (this.flight !== undefined || this.waiting.size > 0) return;
    for (const done of this.idle.splice(0)) done();
  }

  /** Takes the engine's answer to a request. @returns the change, if that was one of these. */
  answered(id: number, outcome: ChangeOutcome): PatchChange | undefined {
    if (this.flight?.id !== id) return undefined;
    const { change, done } = this.flight;
    this.flight = undefined;
    if (outcome === undefined && this.latestHeard !== id) {
      this.unheard = id;
      setTimeout(() => this.heard(id), PATIENCE);
    }
    done(outcome);
    this.next();
    this.rest();
    return change;
  }

  /** Is told that a request can be heard now. */
  heard(id: number): void {
    this.latestHeard = id;
    if (this.unheard !== id) return;
    this.unheard = undefined;
    this.next();
  }

  /** Forgets what has not been made: other texts are being opened. */
  drop(): void {
    for (const { done } of this.waiting.values()) done(undefined);
    this.waiting.clear();
    this.flight?.done(undefined);
    this.flight = undefined;
    this.unheard = undefined;
    this.rest();
  }

  private next(): void {
    if (this.flight !== undefined || this.unheard !== undefined) return;
    const [first] = this.waiting;
    if (first === undefined) return;
    const [place, move] = first;
    this.waiting.delete(place);
    this.flight = { ...move, id: this.send(move.change) };
  }
}
