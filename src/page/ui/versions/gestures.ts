/**
 * Which changes a hand makes in one go: all while a pointer is down, however long it stays and whatever
 * it passes; by keys, those of one place that follow one another quickly.
 */

/** A change, as far as undoing goes. */
export interface Act {
  /** What it changes. */
  readonly place: string;
  /** When the hand made it, ms. */
  readonly time: number;
  /** Which press of a pointer it belongs to; absent for keys. */
  readonly press?: number;
}

/** Changes of one place by keys that follow one another within this time, ms, are one. */
const TOGETHER = 1000;

/** Whether a change goes on with what another began. */
export function isOneGesture(last: Act, next: Act): boolean {
  if (last.place !== next.place || last.press !== next.press) return false;
  return next.press !== undefined || next.time - last.time < TOGETHER;
}

export class Gestures {
  private count = 0;
  /** The last press, as long as no key has been used since. */
  private press: number | undefined;
  private readonly now: () => number;

  /** @param hands what the events of pointers and keys come to. @param now ms. */
  constructor(hands: EventTarget, now: () => number) {
    this.now = now;
    // What a press leads to, such as a click, comes after it has ended: it lasts until the next.
    hands.addEventListener(
      'pointerdown',
      () => {
        this.count += 1;
        this.press = this.count;
      },
      { capture: true },
    );
    hands.addEventListener(
      'keydown',
      () => {
        this.press = undefined;
      },
      { capture: true },
    );
  }

  /** A change that is made now. */
  act(place: string): Act {
    const { press } = this;
    return { place, time: this.now(), ...(press !== undefined && { press }) };
  }

  /** One that goes on with nothing, and nothing with it. */
  alone(place: string): Act {
    this.count += 1;
    return { place, time: this.now(), press: this.count };
  }
}
