// Skipping modules at rest must change nothing: with and without, the same bytes. Checked on
// patches of every kind put together at random; played whole, tapped, as a loop, and in part, fed with
// a recording of the rest.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Loop } from '../../src/engine/loop.ts';
import { Recording } from '../../src/engine/recording.ts';
import type { Part } from '../../src/engine/renderer.ts';
import { Take } from '../../src/engine/take.ts';
import { unchanged } from '../../src/engine/unchanged.ts';
import type { JackRef, Patch } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { differAt } from '../differ.ts';
import { runs } from '../runs.ts';
import { randomPatch, readRandom } from './random-patch.ts';

/** How a patch is played. */
interface Playing {
  readonly taps?: readonly JackRef[];
  readonly looped?: boolean;
  /** A patch of which everything that is the same here has been recorded. */
  readonly recorded?: Patch;
}

const RATE = 8000;
/** s; 31 blocks and a half. */
const SECONDS = 0.504;

const play = (patch: Patch, playing: Playing): Float64Array[] => played(patch, playing, true);
/** The same, with everything run at every sample. */
const playRestless = (patch: Patch, playing: Playing): Float64Array[] =>
  played(patch, playing, false);

function played(
  patch: Patch,
  { taps = [], looped = false, recorded }: Playing,
  passing: boolean,
): Float64Array[] {
  const options = {
    sampleRate: RATE,
    length: { unit: 'seconds', value: SECONDS },
    probes: taps,
    passing,
  } as const;
  const take = looped
    ? new Loop(patch, options)
    : new Take(patch, {
        ...options,
        tail: { unit: 'seconds', value: 0 },
        part: recorded && partOf(patch, recorded, taps, passing),
      });
  const signals = [...take.channels, ...take.probes];
  const kept = signals.map(() => new Float64Array(take.musicFrames));
  for (let from = 0, given = take.read(); given > 0; from += given, given = take.read())
    kept.forEach((all, i) => {
      all.set((signals[i] as Float64Array).subarray(0, given), from);
    });
  return kept;
}

function partOf(
  patch: Patch,
  recorded: Patch,
  taps: readonly JackRef[],
  passing: boolean,
): Part | undefined {
  const options = { sampleRate: RATE, seconds: SECONDS, wanted: taps, passing };
  return new Recording(recorded, unchanged(recorded, patch), options).partOf(patch, taps);
}

/** Every jack of a patch, with a plug or without. */
function jacksOf({ modules }: Patch): JackRef[] {
  return modules.flatMap(({ name, jacks }) =>
    jacks.map((jack) => ({ module: name, jack: jack.name })),
  );
}

function expectSame(given: readonly Float64Array[], wanted: readonly Float64Array[]): void {
  expect(given.length).toBe(wanted.length);
  given.forEach((signal, index) => {
    const at = differAt(signal, wanted[index] ?? []);
    expect({ signal: index, at, is: signal[at], ran: wanted[index]?.[at] }).toEqual({
      signal: index,
      at: -1,
    });
  });
}

describe('passed over or not', () => {
  /** Tries what a random patch gives; `ways` tells in how many it was played. */
  function holds(
    count: number,
    ways: (patch: Patch, text: string, change?: string) => number,
  ): void {
    let tried = 0;
    fc.assert(
      fc.property(randomPatch, ({ text, change }) => {
        const patch = readRandom(text);
        if (patch !== undefined) tried += ways(patch, text, change);
      }),
      runs(count),
    );
    // If most were refused, little was tried.
    expect(tried).toBeGreaterThan(runs(count).numRuns / 3);
  }

  it('plays the same, whole', () => {
    holds(400, (patch) => {
      expectSame(play(patch, {}), playRestless(patch, {}));
      return 1;
    });
  });

  it('plays the same at every jack', () => {
    holds(100, (patch) => {
      const taps = jacksOf(patch);
      expectSame(play(patch, { taps }), playRestless(patch, { taps }));
      return 1;
    });
  });

  it('plays the same as a loop', () => {
    holds(60, (patch) => {
      expectSame(play(patch, { looped: true }), playRestless(patch, { looped: true }));
      return 1;
    });
  });

  it('plays the same fed with a recording', () => {
    holds(150, (recorded, text, change) => {
      const patch = change === undefined ? undefined : readRandom(text, [change]);
      if (patch === undefined) return 0;
      const wanted = playRestless(patch, {});
      expectSame(play(patch, { recorded }), wanted);
      expectSame(playRestless(patch, { recorded }), wanted);
      return 1;
    });
  });

  it.each([
    // Found by a search: a range of 0 V gives 0 and -0 by turns, which a comparison takes for one.
    `  m0: { kind: trigger-converter }
  m1: { kind: trigger-converter }
  m2: { kind: random, clock: own, range: 0 V }
  out: { kind: output }
cables:
  - drums.hit -> m0.voltage-in
  - m2.stepped -> out.left`,
    `  m0: { kind: trigger-converter }
  m1: { kind: clock }
  m2: { kind: random, range: 0 V }
  out: { kind: output }
cables:
  - m1.out -> m2.trigger
  - drums.hit -> m0.voltage-in
  - m2.stepped -> out.left`,
  ])('plays the same where only the sign of 0 moves', (modules) => {
    const text = `modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { a: { hit: "x---" } } }
${modules}
  - drums.hit -> out.right
`;
    const patch = readRandom(text) as Patch;
    expectSame(play(patch, {}), playRestless(patch, {}));
  });

  it('gives the volts of two offsets in a row from the first sample on', () => {
    const text = `
modules:
  first: { kind: attenuator, offset: 2 V }
  second: { kind: attenuator, level: 50 % }
  third: { kind: attenuator, offset: 1 V }
  out: { kind: output }
cables: [first.out -> second.in, second.out -> third.in, third.out -> out.left]
`;
    const patch = readRandom(text) as Patch;
    const tap = { module: 'third', jack: 'out' };
    const [, volts] = play(patch, { taps: [tap] });
    // Each net is the loaded divider of 1 kohm into 100 kohm, by hand.
    const loaded = 100 / 101;
    const expected = (0.5 * (2 * loaded) * loaded + 1) * loaded;
    for (const at of [0, 1, 127, 128, 4000])
      close(volts?.[at], expected, { abs: 5e-13, unit: 'V', why: 'rounding' });
  });
});
