// Changes that belong to one gesture: a drag as long as the pointer is down, keys as long as they are quick.

import { describe, expect, it } from 'vitest';
import { Gestures, isOneGesture } from '../../../../src/page/ui/versions/gestures.ts';

function hand() {
  const hands = new EventTarget();
  let time = 0;
  const gestures = new Gestures(hands, () => time);
  return {
    gestures,
    press: () => hands.dispatchEvent(new Event('pointerdown')),
    key: () => hands.dispatchEvent(new Event('keydown')),
    wait: (ms: number) => {
      time += ms;
    },
  };
}

describe('gestures', () => {
  it('take a drag as one, though it stands still for a minute', () => {
    const { gestures, press, wait } = hand();
    press();
    const first = gestures.act('shape.decay');
    wait(60_000);
    expect(isOneGesture(first, gestures.act('shape.decay'))).toBe(true);
  });

  it('take a second drag as another, though it follows at once', () => {
    const { gestures, press } = hand();
    press();
    const first = gestures.act('shape.decay');
    press();
    expect(isOneGesture(first, gestures.act('shape.decay'))).toBe(false);
  });

  it('take quick keys on one setting as one, and slow ones as several', () => {
    const { gestures, press, key, wait } = hand();
    press();
    const dragged = gestures.act('shape.decay');
    key();
    const first = gestures.act('shape.decay');
    expect(isOneGesture(dragged, first)).toBe(false);
    wait(999);
    expect(isOneGesture(first, gestures.act('shape.decay'))).toBe(true);
    wait(1);
    expect(isOneGesture(first, gestures.act('shape.decay'))).toBe(false);
    expect(isOneGesture(first, gestures.act('shape.attack'))).toBe(false);
  });

  it('take what is no hand’s as one each', () => {
    const { gestures } = hand();
    const mended = gestures.alone('mend');
    expect(isOneGesture(mended, gestures.alone('mend'))).toBe(false);
    expect(isOneGesture(mended, gestures.act('mend'))).toBe(false);
  });
});
