// A setting whose move gains no more than chance goes back: tries whose gains and chance are known, and a voice
// fitted to a render of its own that differs in one setting and in the noise.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { channelOf, fitPatch, usualTries } from '../../src/fit/fit.ts';
import { limited } from '../../src/fit/limits.ts';
import { voicePath } from '../../src/fit/path.ts';
import { recordedHits } from '../../src/fit/recording.ts';
import { type Knob, usualKnobs } from '../../src/fit/settings.ts';
import { giveBack } from '../../src/fit/settle.ts';
import { rendered, source } from '../compare/fit-recordings.ts';
import { written } from '../compare/written.ts';
import { runs } from '../runs.ts';

/** What moving a setting gains, dB, in itself and by chance. */
interface Gain {
  readonly real: number;
  readonly chance: number;
}

/** What chance adds to each draw; to the first, by which the search has gone, always a gain. */
const DRAWS = [1, -1, 0.7, 0.4] as const;
const LEAST = 1;
const knobs = (count: number): readonly Knob[] =>
  Array.from({ length: count }, (_, axis) => ({
    ...{ path: `voice.${axis}`, module: 'voice', setting: `${axis}`, words: undefined },
    ...{ before: 0, low: 0, high: 1, isRatio: false },
    spec: { type: 'number', min: 0, max: 1, fallback: 0, toldBy: 'level', about: '' },
  }));

/** Which settings are still moved once all were, and some given back. */
async function kept(gains: readonly Gain[]): Promise<readonly boolean[]> {
  const distance = (values: readonly number[], draw: number): number =>
    gains.reduce(
      (sum, { real, chance }, axis) =>
        // A figure with chance in it is another number in each draw, whatever the settings.
        sum + draw * chance + (values[axis] === 0 ? real + chance * (DRAWS[draw] as number) : 0),
      LEAST,
    );
  const tries = {
    best: { values: gains.map(() => 1), db: LEAST },
    least: LEAST,
    aside: async (values: readonly number[]) => distance(values, 0),
    prepare: () => {},
    drawn: async (values: readonly number[], draw: number) => distance(values, draw),
  };
  const before = distance(
    gains.map(() => 0),
    0,
  );
  await giveBack({ tries, knobs: knobs(gains.length), before, isOver: () => false });
  return tries.best.values.map((value) => value === 1);
}

describe('settings that gain no more than chance', () => {
  const even = (low: number, high: number) =>
    fc.integer({ min: 0, max: 1000 }).map((part) => low + ((high - low) * part) / 1000);

  it('go back, and those that gain more stay', async () => {
    // A standard error of 0.5 of the chance, twice: a tenth of a dB is well beyond that of 0.02.
    const real = fc.record({ real: even(0.1, 0.5), chance: even(0, 0.02) });
    const byChance = fc.record({ real: fc.constant(0), chance: even(0.05, 0.25) });
    await fc.assert(
      fc.asyncProperty(fc.array(fc.oneof(real, byChance), { minLength: 1 }), async (gains) => {
        expect(await kept(gains)).toEqual(gains.map((gain) => gain.real > 0));
      }),
      runs(100),
    );
  });

  it('stay where there is no chance', async () => {
    // Each more than what all together may cost: 3 % of 1 dB.
    await fc.assert(
      fc.asyncProperty(fc.array(even(0.04, 0.2), { minLength: 1 }), async (gains) => {
        const all = gains.map((real) => ({ real, chance: 0 }));
        expect(await kept(all)).toEqual(gains.map(() => true));
      }),
      runs(100),
    );
  });

  it('go back in a voice of noise whose recording differs in one setting and its noise', async () => {
    const text = `seed: workshop
parts: { voice: parts/shaker.yaml }
modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "x---" } } }
  out: { kind: output }
cables: [drums.hit -> voice.gate.in, voice.touch.out -> out.left]
`;
    const { written: texts, patch } = written(text, ['parts/shaker.yaml']);
    const channel = channelOf(patch, 'hit');
    const sampleRate = 12_000;
    // The hit that is compared is the one at the start, so other noise takes another seed.
    const set = ['voice.swish.decay=160 ms', 'seed=other'];
    const samples = rendered(texts, set, { sampleRate, seconds: 1 });
    const recording = recordedHits(source(sampleRate, samples), 'shaker');
    const knobs = limited(usualKnobs(patch, voicePath(patch, channel)), patch, recording.longest);
    const tries = usualTries(knobs.length, recording);
    const { settings } = await fitPatch({
      ...{ written: texts, recording, channel, knobs, tries, isLevelled: true },
      concernsOf: () => [],
      onProgress: () => undefined,
      breathe: () => Promise.resolve(),
      isStopped: () => false,
    });
    const moved = settings.filter(({ knob, after }) => after !== knob.before);
    expect(moved.map(({ knob }) => knob.path)).toEqual(['voice.swish.decay']);
  });
});
