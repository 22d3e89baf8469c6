/**
 * Changes on their way to the engine. One is under way at a time, until it is heard; of those made
 * meanwhile only the newest of each place is sent next. So fast moves never build up a queue, and are heard
 * on the way: a newer request would abort the rendering of an older one.
 */

import type { PatchChange } from '../protocol.ts';

/** The outcome of a change: undefined if it was made or replaced by a newer one, otherwise why it was refused. */
export type ChangeOutcome = string | undefined;

interface WaitingChange {
  readonly change: PatchChange;
  readonly done: (outcome: ChangeOutcome) => void;
}

/** ms after which the next change is sent even if the last is not heard yet: so patches of any size can be changed. */
const PATIENCE = 400;

/** The name of the place that a change is made at. */
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
  private readonly waiting = new Map<string, WaitingChange>();
  private flight: (WaitingChange & { readonly id: number }) | undefined;
  /** The request whose sound has not been heard yet. */
  private unheard: number | undefined;
  /** Callers that wait until no change is on its way. */
  private idle: (() => void)[] = [];
  /** The latest that can be heard. */
  private latestHeard: number | undefined;

  /** @param send asks the engine and returns the request's number. */
  constructor(send: (change: PatchChange) => number) {
    this.send = send;
  }

  make(change: PatchChange): Promise<ChangeOutcome> {
    return new Promise((done) => {
      const place = changedPlace(change);
      this.waiting.get(place)?.done(undefined);
      // Put at the end, as the newest.
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

  /** Notes that a request can be heard now. */
  heard(id: number): void {
    this.latestHeard = id;
    if (this.unheard !== id) return;
    this.unheard = undefined;
    this.next();
  }

  /** Forgets the changes that have not been made: other texts are being opened. */
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
