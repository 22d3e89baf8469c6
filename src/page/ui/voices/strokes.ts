/** Single strokes, kept once they are played, so that the next one sounds at once. */

import type { StrokeWish } from '../../protocol.ts';

export interface PadStroke {
  readonly sampleRate: number;
  /** Empty where nothing is heard. */
  readonly channels: readonly Float32Array<ArrayBuffer>[];
}

export class PadStrokes {
  private readonly ask: (wish: StrokeWish) => number;
  private readonly sound: (stroke: PadStroke, wish: StrokeWish) => void;
  private readonly kept = new Map<string, PadStroke>();
  /** Requested strokes by their keys, and whether each should be played when it comes. */
  private readonly awaited = new Map<string, { readonly id: number; readonly isWanted: boolean }>();

  /**
   * @param ask asks the engine for a stroke; returns the number of its answer.
   * @param sound plays one.
   */
  constructor(
    ask: (wish: StrokeWish) => number,
    sound: (stroke: PadStroke, wish: StrokeWish) => void,
  ) {
    this.ask = ask;
    this.sound = sound;
  }

  /** Plays one: at once if it is kept, otherwise as soon as it comes. */
  strike(wish: StrokeWish): void {
    const stroke = this.kept.get(keyOf(wish));
    if (stroke === undefined) this.want(wish, true);
    else this.sound(stroke, wish);
  }

  /** Has one rendered in advance. */
  prepare(wish: StrokeWish): void {
    if (!this.kept.has(keyOf(wish))) this.want(wish, false);
  }

  private want(wish: StrokeWish, isWanted: boolean): void {
    const key = keyOf(wish);
    const awaited = this.awaited.get(key);
    if (awaited === undefined) this.awaited.set(key, { id: this.ask(wish), isWanted });
    else if (isWanted) this.awaited.set(key, { id: awaited.id, isWanted });
  }

  /** Takes the engine's answer to a request. */
  take(id: number, wish: StrokeWish, stroke: PadStroke): void {
    const key = keyOf(wish);
    const awaited = this.awaited.get(key);
    // It may belong to earlier texts.
    if (awaited?.id !== id) return;
    this.awaited.delete(key);
    this.kept.set(key, stroke);
    if (awaited.isWanted) this.sound(stroke, wish);
  }

  /** Forgets all strokes, since the patch has changed. */
  forget(): void {
    this.kept.clear();
    this.awaited.clear();
  }
}

function keyOf({ voice, module, channel, isAccented }: StrokeWish): string {
  return JSON.stringify([voice, module, channel, isAccented]);
}
