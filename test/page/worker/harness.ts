// An engine in Node, as a page would use it.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { onTestFinished } from 'vitest';
import type { EngineAnswer, EngineRequest, SoundStretch } from '../../../src/page/protocol.ts';
import { Engine } from '../../../src/page/worker/engine.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';

const ROOT = fileURLToPath(new URL('../../..', import.meta.url));

/** Every example, part and rack, by its path from the top. */
export const TEXTS: Readonly<Record<string, string>> = Object.fromEntries(
  ['patches', 'patches/parts', 'patches/racks'].flatMap((folder) =>
    readdirSync(join(ROOT, folder))
      .filter((name) => name.endsWith('.yaml'))
      .map((name) => [`${folder}/${name}`, readFileSync(join(ROOT, folder, name), 'utf8')]),
  ),
);
/** The examples. */
export const EXAMPLES = Object.keys(TEXTS).filter((name) => /^patches\/[^/]+$/.test(name));

export function filesOf(main: string, set: readonly string[] = []): PatchTexts {
  return { main, set, texts: TEXTS };
}

type Asked = EngineRequest extends infer R
  ? R extends EngineRequest
    ? Omit<R, 'id'>
    : never
  : never;
type Of<T extends EngineAnswer['type']> = Extract<EngineAnswer, { type: T }>;

/** Sends requests to an engine and waits for answers, until the test ends. */
export class Page {
  readonly answers: EngineAnswer[] = [];
  private readonly engine: Engine;
  private id = 0;
  private wake: () => void = () => {};
  private hasEnded = false;

  constructor() {
    onTestFinished(() => this.end());
    this.engine = new Engine({
      post: (answer) => {
        this.answers.push(answer);
        this.wake();
      },
      breathe: () =>
        new Promise((done) => {
          if (!this.hasEnded) setImmediate(done);
        }),
      pause: () => new Promise((done) => setImmediate(done)),
      now: () => performance.now(),
    });
  }

  /** Leaves what is yet to be worked out, such as pictures that no test looks at. */
  end(): void {
    this.hasEnded = true;
  }

  /** Sends a request. @returns its id. */
  send(request: Asked): number {
    this.id += 1;
    this.engine.receive({ ...request, id: this.id } as EngineRequest);
    return this.id;
  }

  /** The first answer of a type to a request. @throws Error if it was refused, or Forehear failed at it. */
  async answer<T extends EngineAnswer['type']>(
    id: number,
    type: T,
    is: (answer: Of<T>) => boolean = () => true,
  ): Promise<Of<T>> {
    for (;;) {
      for (const answer of this.answers) {
        if (answer.id !== id) continue;
        const isBad = answer.type === 'failed' || (answer.type === 'refused' && type !== 'refused');
        if (isBad) throw new Error(answer.message);
        if (answer.type === type && is(answer as Of<T>)) return answer as Of<T>;
      }
      await new Promise<void>((done) => {
        this.wake = done;
      });
    }
  }

  /** The whole loop that answers a request. */
  async loop(id: number): Promise<Loop> {
    await this.answer(id, 'sound', ({ sound }) => sound.isWhole);
    const pieces = this.answers.flatMap((one) =>
      one.type === 'sound' && one.id === id ? [one.sound] : [],
    );
    return joined(pieces);
  }
}

export interface Loop {
  readonly channels: readonly Float32Array[];
  readonly probe: Float32Array;
}

/** Puts pieces together as the page does. */
export function joined(pieces: readonly SoundStretch[]): Loop {
  const { frames, channels } = pieces[0] as SoundStretch;
  const whole = channels.map(() => new Float32Array(frames).fill(Number.NaN));
  const probe = new Float32Array(frames).fill(Number.NaN);
  for (const piece of pieces) {
    piece.channels.forEach((samples, index) => {
      whole[index]?.set(samples, piece.from);
    });
    if (piece.probe !== undefined) probe.set(piece.probe.volts, piece.from);
  }
  return { channels: whole, probe };
}
