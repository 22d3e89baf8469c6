/**
 * Which changes belong to one gesture: by pointer, those of one press, however long it lasts; by keys,
 * those of one place that follow one another quickly.
 */

/** A change, as far as undoing goes. */
export interface Act {
  /** What it changes. */
  readonly place: string;
  /** When it was made, ms. */
  readonly time: number;
  /** Which press of a pointer it belongs to; absent for keys. */
  readonly press?: number;
}

/** Changes of one place by keys that follow one another within this time, ms, belong to one gesture. */
const TOGETHER = 1000;

/** Whether a change continues the gesture of another. */
export function isOneGesture(last: Act, next: Act): boolean {
  if (last.place !== next.place || last.press !== next.press) return false;
  return next.press !== undefined || next.time - last.time < TOGETHER;
}

export class Gestures {
  private count = 0;
  /** The last press, as long as no key has been used since. */
  private press: number | undefined;
  private readonly now: () => number;

  /** @param hands the target of pointer and key events. @param now gives the time, ms. */
  constructor(hands: EventTarget, now: () => number) {
    this.now = now;
    // The effects of a press, such as a click, come after it has ended: it counts until the next press.
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

  /** An act for a change that is made now. */
  act(place: string): Act {
    const { press } = this;
    return { place, time: this.now(), ...(press !== undefined && { press }) };
  }

  /** An act that is a gesture by itself. */
  alone(place: string): Act {
    this.count += 1;
    return { place, time: this.now(), press: this.count };
  }
}
