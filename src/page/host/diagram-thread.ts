/**
 * Block diagrams, laid out in a thread of their own: that can take minutes and cannot be interrupted,
 * and neither pages nor Ctrl-C should wait for it. What takes too long, or cannot be done, is laid out
 * plainly instead.
 */

import { Worker } from 'node:worker_threads';
import type { BlockFigure } from '../../output/diagram/figures.ts';
import type { PlacedFigure } from '../../output/diagram/layout.ts';
import { plainlyPlaced } from '../../output/diagram/plain.ts';
import { diagramBody } from '../../output/sheet/diagrams.ts';
import type { Laid } from './diagram-worker.ts';

/** Diagrams that are kept, so that one can go back and forth between as many versions. */
const MOST_KEPT = 16;
/** What one figure may take, ms: several times what the largest example does. */
const LIMIT_MS = 20_000;
/** Blocks up to which only a machine that stands still makes a figure late, and what it may take then, ms. */
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
   * @param limit of every figure, ms; by its size unless given.
   */
  constructor(script: URL, limit?: number) {
    this.script = script;
    this.limit = limit;
  }

  /** Draws the figures of a patch, unless it has them. @param figures as `figuresOf` has them. */
  draw(figures: string): Promise<string> {
    const markup =
      this.kept.get(figures) ??
      diagramBody(JSON.parse(figures) as BlockFigure[], undefined, (one) => this.place(one));
    // At the end of the line, as the newest.
    this.kept.delete(figures);
    this.kept.set(figures, markup);
    const [oldest] = this.kept.keys();
    if (this.kept.size > MOST_KEPT && oldest !== undefined) this.kept.delete(oldest);
    return markup;
  }

  /** Lays a figure out, after those that it was asked for earlier. */
  place(figure: BlockFigure): Promise<PlacedFigure> {
    const placed = this.before.then(async () => (await this.laid(figure)) ?? plainlyPlaced(figure));
    this.before = placed;
    return placed;
  }

  /** Stops at once, whatever is being laid out. */
  close(): void {
    this.isClosed = true;
    this.end();
  }

  private limitOf({ blocks }: BlockFigure): number {
    return this.limit ?? (blocks.length <= FEW_BLOCKS ? PATIENCE_MS : LIMIT_MS);
  }

  /** Once closed, nobody waits for what was asked for, and it stays without an answer. */
  private laid(figure: BlockFigure): Promise<Laid> {
    if (this.isClosed) return new Promise(() => {});
    this.worker ??= new Worker(this.script);
    const { worker } = this;
    // It ends with the rest, which waits for the limit at most.
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
