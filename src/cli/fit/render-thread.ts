/** A second thread for a fit: it renders what the search is about to ask for, from the other end of each list. */

import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { Target } from '../../fit/target.ts';
import type { SecondThread } from '../../fit/tries.ts';
import type { FirstRender, Rendered, VoiceOptions } from '../../fit/voice-renders.ts';

/** What the worker is told: plain data. */
export type Asked = Begin | Batch;

interface Begin extends Omit<VoiceOptions, 'recording' | 'kinds'> {
  readonly type: 'begin';
  /** Hz. */
  readonly sampleRate: number;
  readonly given: Target['given'];
  readonly used: number;
  readonly first: FirstRender;
}

interface Batch {
  readonly type: 'batch';
  readonly batch: number;
  readonly sets: readonly (readonly string[])[];
  /** By set: who makes it. Both threads see the same numbers. */
  readonly claims: Int32Array;
}

/** Who makes a render: nobody yet, the search, the worker. */
export const CLAIM = { free: 0, here: 1, apart: 2 } as const;

/** What the worker has made; null for what it cannot. */
export interface Made {
  readonly batch: number;
  readonly index: number;
  readonly made: Rendered | null;
}

/** Renders from which on a second thread saves more time than its start costs. */
export const WORTH_A_THREAD = 150;

type Taken = (made: Rendered | undefined) => void;

export class RenderThread implements SecondThread {
  private readonly worker: Worker;
  private batch = 0;
  /** Of the last batch: by its values, which of it each is, and who makes it. */
  private places = new Map<string, number>();
  private claims = new Int32Array(new SharedArrayBuffer(0));
  private made = new Map<number, Rendered | undefined>();
  private awaited = new Map<number, Taken>();
  private isOver = false;

  private constructor(script: URL) {
    this.worker = new Worker(script);
    this.worker.on('message', ({ batch, index, made }: Made) => {
      if (batch !== this.batch) return;
      this.made.set(index, made ?? undefined);
      this.awaited.get(index)?.(made ?? undefined);
    });
    // Without it the search makes all renders itself, and has the same result.
    this.worker.on('error', () => this.end());
    this.worker.on('exit', () => this.end());
  }

  /**
   * Opens one, if the machine has a core for it.
   * @param script of the worker: that beside the command, unless given.
   */
  static open(
    script = new URL('./render-worker.js', import.meta.url),
    cores = availableParallelism(),
  ): RenderThread | undefined {
    return cores < 2 ? undefined : new RenderThread(script);
  }

  begin({ written, recording, channel, isLevelled }: VoiceOptions, first: FirstRender): void {
    this.drop();
    const { scope, target, used } = recording;
    const { sampleRate } = scope;
    const { given } = target;
    this.ask({ type: 'begin', written, channel, isLevelled, sampleRate, given, used, first });
  }

  prepare(sets: readonly (readonly string[])[]): void {
    this.drop();
    if (this.isOver || sets.length < 2) return;
    this.claims = new Int32Array(new SharedArrayBuffer(4 * sets.length));
    this.places = new Map(sets.map((set, index) => [set.join(), index]));
    this.ask({ type: 'batch', batch: this.batch, sets, claims: this.claims });
  }

  take(set: readonly string[]): Promise<Rendered | undefined> | undefined {
    const index = this.places.get(set.join());
    if (index === undefined || this.isOver) return undefined;
    const before = Atomics.compareExchange(this.claims, index, CLAIM.free, CLAIM.here);
    if (before !== CLAIM.apart) return undefined;
    if (this.made.has(index)) return Promise.resolve(this.made.get(index));
    return new Promise((resolve) => this.awaited.set(index, resolve));
  }

  async close(): Promise<void> {
    this.end();
    await this.worker.terminate();
  }

  private ask(asked: Asked): void {
    if (!this.isOver) this.worker.postMessage(asked);
  }

  /** Nobody asks for the last batch any more. */
  private drop(): void {
    this.claims.forEach((_, index) => {
      Atomics.compareExchange(this.claims, index, CLAIM.free, CLAIM.here);
    });
    this.batch += 1;
    this.places = new Map();
    this.made = new Map();
    this.awaited = new Map();
  }

  private end(): void {
    this.isOver = true;
    for (const taken of this.awaited.values()) taken(undefined);
    this.awaited = new Map();
  }
}
