/**
 * Block diagrams, laid out in a thread of their own: that can take minutes and cannot be interrupted,
 * and neither pages nor Ctrl-C should wait for it. A figure that takes too long, or cannot be done, is
 * laid out in a simple way instead.
 */

import { Worker } from 'node:worker_threads';
import type { BlockFigure } from '../../output/diagram/figures.ts';
import type { PlacedFigure } from '../../output/diagram/layout.ts';
import { plainlyPlaced } from '../../output/diagram/plain.ts';
import { diagramBody } from '../../output/sheet/diagrams.ts';
import type { Laid } from './diagram-worker.ts';

/** Diagrams that are kept, enough to go back and forth between this many versions. */
const MOST_KEPT = 16;
/** The most time for one figure, ms: several times that of the largest example. */
const LIMIT_MS = 20_000;
/** Figures up to this many blocks are late only if the machine stalls; they get this time, ms. */
const FEW_BLOCKS = 16;
const PATIENCE_MS = 120_000;

export class DiagramThread {
  private readonly script: URL;
  private readonly limit: number | undefined;
  private worker: Worker | undefined;
  private readonly kept = new Map<string, Promise<string>>();
  private before: Promise<unknown> = Promise.resolve();
  private isClosed = false;

  /**
   * @param script that of `diagram-worker.ts`, bundled. It is started when first needed.
   * @param limit of every figure, ms; if not given, it depends on the size of the figure.
   */
  constructor(script: URL, limit?: number) {
    this.script = script;
    this.limit = limit;
  }

  /** Draws the figures of a patch, unless they are kept. @param figures as `figuresOf` has them. */
  draw(figures: string): Promise<string> {
    const markup =
      this.kept.get(figures) ??
      diagramBody(JSON.parse(figures) as BlockFigure[], undefined, (one) => this.place(one));
    // Put at the end, as the newest.
    this.kept.delete(figures);
    this.kept.set(figures, markup);
    const [oldest] = this.kept.keys();
    if (this.kept.size > MOST_KEPT && oldest !== undefined) this.kept.delete(oldest);
    return markup;
  }

  /** Lays a figure out, after those that were asked for earlier. */
  place(figure: BlockFigure): Promise<PlacedFigure> {
    const placed = this.before.then(async () => (await this.laid(figure)) ?? plainlyPlaced(figure));
    this.before = placed;
    return placed;
  }

  /** Stops at once, even in the middle of a figure. */
  close(): void {
    this.isClosed = true;
    this.end();
  }

  private limitOf({ blocks }: BlockFigure): number {
    return this.limit ?? (blocks.length <= FEW_BLOCKS ? PATIENCE_MS : LIMIT_MS);
  }

  /** After it is closed, nobody waits for a figure any more, and the promise stays pending. */
  private laid(figure: BlockFigure): Promise<Laid> {
    if (this.isClosed) return new Promise(() => {});
    this.worker ??= new Worker(this.script);
    const { worker } = this;
    // It does not keep the process alive, which waits for the limit at most.
    worker.unref();
    return new Promise((resolve) => {
      const done = (laid: Laid): void => {
        clearTimeout(limit);
        worker.off('message', done).off('error', fail).off('exit', leave);
        resolve(laid);
      };
      const fail = (): void => {
        this.worker = undefined;
        done(undefined);
      };
      const leave = (): void => {
        clearTimeout(limit);
        if (!this.isClosed) done(undefined);
      };
      const limit = setTimeout(() => {
        this.end();
        done(undefined);
      }, this.limitOf(figure));
      worker.on('message', done).on('error', fail).on('exit', leave);
      worker.postMessage(figure);
    });
  }

  private end(): void {
    void this.worker?.terminate();
    this.worker = undefined;
  }
}
