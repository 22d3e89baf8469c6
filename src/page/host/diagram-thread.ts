/**
 * Block diagrams, laid out in a thread of their own: that takes up to some seconds and cannot be
 * interrupted, and neither pages nor Ctrl-C should wait for it.
 */

import { Worker } from 'node:worker_threads';
import { escaped } from '../../output/markup.ts';
import type { Drawn } from './diagram-worker.ts';

/** Diagrams that are kept, so that one can go back and forth between as many versions. */
const MOST_KEPT = 16;

export class DiagramThread {
  private readonly script: URL;
  private worker: Worker | undefined;
  private readonly kept = new Map<string, Promise<string>>();
  private readonly waiting = new Map<string, (markup: string) => void>();

  /** @param script that of `diagram-worker.ts`, compiled. It is started when first needed. */
  constructor(script: URL) {
    this.script = script;
  }

  /**
   * Draws the figures of a patch, unless it has them. One that cannot be drawn is no reason to hear
   * nothing: the reason stands in its place.
   * @param figures as `figuresOf` has them.
   */
  draw(figures: string): Promise<string> {
    const known = this.kept.get(figures);
    const markup =
      known ??
      new Promise<string>((resolve) => {
        this.waiting.set(figures, resolve);
        this.worker ??= this.started();
        this.worker.postMessage(figures);
      });
    // At the end of the line, as the newest.
    this.kept.delete(figures);
    this.kept.set(figures, markup);
    const [oldest] = this.kept.keys();
    if (this.kept.size > MOST_KEPT && oldest !== undefined) this.kept.delete(oldest);
    return markup;
  }

  /** Stops at once, whatever is being drawn. */
  close(): void {
    void this.worker?.terminate();
  }

  private started(): Worker {
    const worker = new Worker(this.script);
    // It ends with the rest.
    worker.unref();
    worker.on('message', (drawn: Drawn) => this.take(drawn));
    worker.on('error', ({ message: failure }) => {
      this.worker = undefined;
      for (const figures of [...this.waiting.keys()]) this.take({ figures, failure });
    });
    return worker;
  }

  private take({ figures, markup, failure = '' }: Drawn): void {
    if (markup === undefined) this.kept.delete(figures);
    this.waiting.get(figures)?.(
      markup ?? `<p>The block diagram could not be drawn: ${escaped(failure)}</p>`,
    );
    this.waiting.delete(figures);
  }
}
