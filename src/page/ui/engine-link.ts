/** The engine in its worker: requests go to it numbered, its answers come back by number. */

import type { EngineAnswer, EngineRequest } from '../protocol.ts';

type Unnumbered<R> = R extends { readonly id: number } ? Omit<R, 'id'> : never;
export type Wish = Unnumbered<EngineRequest>;

export class EngineLink {
  private readonly worker: Worker;
  private count = 0;

  /**
   * Starts the engine.
   * @param source its script.
   * @param onFailure is called if it cannot run at all.
   */
  constructor(
    source: string,
    onAnswer: (answer: EngineAnswer) => void,
    onFailure: (message: string) => void,
  ) {
    const address = URL.createObjectURL(new Blob([source], { type: 'text/javascript' }));
    this.worker = new Worker(address);
    this.worker.onmessage = ({ data }: MessageEvent<EngineAnswer>) => onAnswer(data);
    this.worker.onerror = ({ message }) => onFailure(message || 'its script could not be started');
  }

  /** Asks for something. @returns the number that answers to it will have. */
  ask(wish: Wish): number {
    this.count += 1;
    this.worker.postMessage({ ...wish, id: this.count });
    return this.count;
  }
}
