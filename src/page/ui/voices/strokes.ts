/** Single strokes, kept once they are played, so that the next one sounds at once. */

import type { StrokeWish } from '../../protocol.ts';

export interface Stroke {
  readonly sampleRate: number;
  /** None where nothing is heard. */
  readonly channels: readonly Float32Array<ArrayBuffer>[];
}

export class Strokes {
  private readonly ask: (wish: StrokeWish) => number;
  private readonly sound: (stroke: Stroke, wish: StrokeWish) => void;
  private readonly kept = new Map<string, Stroke>();
  /** What is asked for, by what it is, and whether it is to sound when it comes. */
  private readonly awaited = new Map<string, { readonly id: number; readonly isWanted: boolean }>();

  /**
   * @param ask asks the engine for one; gives the number of its answer.
   * @param sound lets one be heard.
   */
  constructor(
    ask: (wish: StrokeWish) => number,
    sound: (stroke: Stroke, wish: StrokeWish) => void,
  ) {
    this.ask = ask;
    this.sound = sound;
  }

  /** Lets one be heard: at once if it is kept, or as soon as it comes. */
  strike(wish: StrokeWish): void {
    const stroke = this.kept.get(keyOf(wish));
    if (stroke === undefined) this.want(wish, true);
    else this.sound(stroke, wish);
  }

  /** Has one made, to be there when it is wanted. */
  prepare(wish: StrokeWish): void {
    if (!this.kept.has(keyOf(wish))) this.want(wish, false);
  }

  private want(wish: StrokeWish, isWanted: boolean): void {
    const key = keyOf(wish);
    const awaited = this.awaited.get(key);
    if (awaited === undefined) this.awaited.set(key, { id: this.ask(wish), isWanted });
    else if (isWanted) this.awaited.set(key, { id: awaited.id, isWanted });
  }

  /** Takes what the engine has made of a request. */
  take(id: number, wish: StrokeWish, stroke: Stroke): void {
    const key = keyOf(wish);
    const awaited = this.awaited.get(key);
    // It may be of earlier texts.
    if (awaited?.id !== id) return;
    this.awaited.delete(key);
    this.kept.set(key, stroke);
    if (awaited.isWanted) this.sound(stroke, wish);
  }

  /** Forgets all: the patch is another. */
  forget(): void {
    this.kept.clear();
    this.awaited.clear();
  }
}

function keyOf({ voice, module, channel, isAccented }: StrokeWish): string {
  return JSON.stringify([voice, module, channel, isAccented]);
}
