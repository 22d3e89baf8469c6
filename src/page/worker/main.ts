/** The entry of the engine's worker: ties the engine to the thread that it runs in. */

import type { EngineAnswer, EngineRequest } from '../protocol.ts';
import { Engine } from './engine.ts';

// A message to itself comes after those that wait already, without the delay of a timer.
const { port1, port2 } = new MessageChannel();
let resume: (() => void)[] = [];
port1.onmessage = (): void => {
  const waiting = resume;
  resume = [];
  for (const one of waiting) one();
};

const engine = new Engine({
  post: (answer: EngineAnswer, buffers): void =>
    self.postMessage(answer, { transfer: [...buffers] }),
  breathe: () =>
    new Promise((done) => {
      resume.push(done);
      port2.postMessage(undefined);
    }),
  pause: (ms) => new Promise((done) => setTimeout(done, ms)),
  now: () => performance.now(),
});

self.onmessage = ({ data }: MessageEvent<EngineRequest>): void => engine.receive(data);
