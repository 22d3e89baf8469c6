// A fit in two threads: to the last digit that of one, whatever the other thread does.

import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { RenderThread } from '../../src/cli/fit/render-thread.ts';
import { channelOf, type Fit, fitPatch } from '../../src/fit/fit.ts';
import { recordedHits } from '../../src/fit/recording.ts';
import { readKnobs } from '../../src/fit/settings.ts';
import type { SecondThread } from '../../src/fit/tries.ts';
import { rendered, source } from '../compare/fit-recordings.ts';
import { written } from '../compare/written.ts';

// Low, and few renders: what is held here is the same at any rate.
const RATE = 12_000;
const HAT = written(`title: Hat
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat], patterns: { beat: { hat: "x-x-x-x-" } }, song: [beat] }
  hiss: { kind: noise, level: 2 V }
  bright: { kind: filter, cutoff: 3 kHz, q: 0.9 }
  dark: { kind: filter, cutoff: 5 kHz, q: 0.7 }
  shape: { kind: envelope, mode: trigger, attack: 0.4 ms, decay: 300 ms }
  level: { kind: amplifier, response: linear }
  out: { kind: output }
cables:
  - drums.hat   -> shape.trigger
  - shape.out   -> level.control
  - hiss.white  -> bright.in
  - bright.high -> dark.in
  - dark.low    -> level.in
  - level.out   -> out.left
`);
// Over four settings move together, and of few other noise is looked at too: every way of searching has its lists.
const MANY = {
  vary: ['shape.decay', 'shape.attack', 'bright.cutoff', 'bright.q', 'dark.cutoff'],
  tries: 70,
};
const FEW = { vary: ['bright.cutoff'], tries: 130 };
const SCRIPT = new URL('../../dist/bin/render-worker.js', import.meta.url);
const recording = recordedHits(
  source(
    RATE,
    rendered(HAT.written, ['shape.decay=90ms', 'bright.cutoff=2kHz'], {
      sampleRate: RATE,
      seconds: 3,
    }),
  ),
  'hat.wav',
);

function fitted(second: SecondThread | undefined, { vary, tries } = MANY): Promise<Fit> {
  const { written: texts, patch } = HAT;
  return fitPatch({
    ...{ written: texts, recording, second, tries, isLevelled: true },
    channel: channelOf(patch, undefined),
    knobs: readKnobs(vary, patch),
    concernsOf: () => [],
    onProgress: () => {},
    breathe: () => new Promise(setImmediate),
    isStopped: () => false,
  });
}
/** The same, and counts what the other thread has made. */
function counted(thread: SecondThread): SecondThread & { count: number } {
  const all = {
    count: 0,
    begin: thread.begin.bind(thread),
    prepare: thread.prepare.bind(thread),
    take: async (set: readonly string[]) => {
      const made = await thread.take(set);
      if (made !== undefined) all.count += 1;
      return made;
    },
  };
  return all;
}
const opened = (script: URL): RenderThread => RenderThread.open(script, 2) as RenderThread;

describe('a fit in two threads', async () => {
  const alone = await fitted(undefined);

  it('is the one of a single thread, and some of its renders are made by the other', async () => {
    const thread = opened(SCRIPT);
    const both = counted(thread);
    // Its start takes as long as some renders: the second fit has it from the beginning.
    expect(await fitted(both, FEW)).toEqual(await fitted(undefined, FEW));
    both.count = 0;
    expect(await fitted(both)).toEqual(alone);
    expect(both.count).toBeGreaterThan(0);
    await thread.close();
  });

  it.each([
    ['cannot be found', new URL('./nowhere.js', import.meta.url)],
    ['fails as it begins', new URL('data:text/javascript,throw new Error("no")')],
    ['ends at once', new URL('data:text/javascript,process.exit(0)')],
  ])('goes on alone where the other %s', async (_, script) => {
    const thread = opened(script);
    expect(await fitted(thread)).toEqual(alone);
    await thread.close();
  });

  it('goes on alone where the other is closed meanwhile', async () => {
    const thread = opened(SCRIPT);
    const made = fitted(thread);
    await thread.close();
    expect(await made).toEqual(alone);
  });

  it('needs a core for it', () => {
    expect(RenderThread.open(SCRIPT, 1)).toBeUndefined();
    expect(fileURLToPath(SCRIPT)).toContain('render-worker');
  });
});
