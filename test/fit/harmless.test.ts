// A fit does no harm, whatever the recording: voices of the examples, fitted to renders of their own
// with other settings.

import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { concernsOf } from '../../src/cli/fit/concerns.ts';
import { readVariant } from '../../src/compare/variant.ts';
import { Take } from '../../src/engine/take.ts';
import { channelOf, type Fit, fitPatch } from '../../src/fit/fit.ts';
import { limited } from '../../src/fit/limits.ts';
import { voiceAlone, voicePath } from '../../src/fit/path.ts';
import { type RecordedHits, recordedHits } from '../../src/fit/recording.ts';
import { type Knob, knobText, usualKnobs } from '../../src/fit/settings.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { type PatchTexts, withText } from '../../src/patch/texts.ts';
import { close } from '../close.ts';
import { source } from '../compare/fit-recordings.ts';
import { example, PATCHES } from '../compare/written.ts';
import { runs } from '../runs.ts';

const RATE = 12_000;
const TRIES = 90;
const PARTS = readdirSync(join(PATCHES, 'parts')).map((name) => `parts/${name}`);

interface Voice {
  readonly file: string;
  readonly channel: string;
}

const VOICES: readonly Voice[] = [
  { file: 'closed-hat.yaml', channel: 'hat' },
  { file: 'kick.yaml', channel: 'kick' },
  { file: 'snare.yaml', channel: 'snare' },
  { file: 'toms.yaml', channel: 'mid' },
  { file: 'two-bar-kit.yaml', channel: 'closed' },
  { file: 'hand-percussion.yaml', channel: 'bell' },
];

function render(patch: Patch): Float64Array {
  const take = new Take(patch, {
    sampleRate: RATE,
    length: { unit: 'seconds', value: 1.5 },
    tail: { unit: 'seconds', value: 0.3 },
  });
  const lead = Math.round(0.1 * RATE);
  const samples = new Float64Array(lead + (take.totalFrames ?? 0));
  for (let frames = take.read(), at = lead; frames > 0; at += frames, frames = take.read())
    samples.set((take.channels[0] as Float64Array).subarray(0, frames), at);
  return samples;
}

/** The recording of a voice with each setting that is usually varied multiplied by a factor. */
function recordingOf({ file, channel }: Voice, factors: readonly number[]) {
  const { written, patch } = example(file, PARTS);
  const heard = channelOf(patch, channel);
  if (heard === undefined) throw new Error('no such channel');
  const usual = usualKnobs(patch, voicePath(patch, heard));
  const set = usual.flatMap((knob, index) => {
    const { spec } = knob;
    if (spec.type === 'choice') return [];
    const value = knob.before * (factors[index % factors.length] as number);
    return [`${knob.path}=${knobText(knob, Math.min(spec.max, Math.max(spec.min, value)))}`];
  });
  const drawn = readVariant(written, [...set, 'seed=another']).patch;
  if (drawn === undefined) throw new Error('not a patch');
  const recording = recordedHits(source(RATE, render(voiceAlone(drawn, heard))), file);
  return { written, patch, heard, recording, knobs: limited(usual, patch, recording.longest) };
}

interface Asked extends ReturnType<typeof recordingOf> {
  readonly knobs: readonly Knob[];
  readonly recording: RecordedHits;
}

function fitted(
  { written, heard, recording, knobs }: Asked,
  tries = TRIES,
  stopAfter = tries * 10,
): Promise<Fit> {
  let done = 0;
  return fitPatch({
    written,
    recording,
    channel: heard,
    knobs,
    tries,
    isLevelled: true,
    concernsOf,
    onProgress: () => {
      done++;
    },
    breathe: () => Promise.resolve(),
    isStopped: () => done >= stopAfter,
  });
}

function patchOf(written: PatchTexts, text: string) {
  const next = withText(written, text);
  const { patch, problems } = readVariant(next, []);
  if (patch === undefined) throw new Error(JSON.stringify(problems));
  return { written: next, patch };
}

/** Findings by rule and jack, and how bad they are: there must be no new or worse ones. */
function troubles(patch: Patch): string[] {
  return concernsOf(patch).map(({ about, weight }) => `${about} ${weight}`);
}

async function isHarmless(voice: Voice, factors: readonly number[], stopAfter?: number) {
  const asked = recordingOf(voice, factors);
  const made = await fitted(asked, TRIES, stopAfter);
  const { written, patch } = patchOf(asked.written, made.text);
  // A fault that has become a caution is no new trouble.
  const before = troubles(asked.patch).flatMap((one) => [one, one.replace(/2$/, '1')]);
  expect(troubles(patch).filter((one) => !before.includes(one))).toEqual([]);
  expect(made.distanceAfter).toBeLessThanOrEqual(made.distanceBefore);
  // What would do harm is given back whatever that takes.
  if (made.refused.length === 0) expect(made.tries).toBeLessThanOrEqual(TRIES);
  // A dB beyond 20 costs three of distance, and no more can be gained than there was.
  expect(made.louderDb).toBeGreaterThan(-20 - made.distanceBefore / 3);
  for (const { knob, after, alike } of made.settings) {
    if (knob.spec.type === 'time' && after !== knob.before)
      expect(after).toBeLessThanOrEqual(4 * asked.recording.longest);
    if (alike === null) continue;
    const [low, high] = [alike.low ?? knob.low, alike.high ?? knob.high];
    const isAlike = knob.before >= low && knob.before <= high;
    expect(isAlike ? [knob.path, after] : []).toEqual(isAlike ? [knob.path, knob.before] : []);
  }
  // What the text says is what was told: it is the same patch, so the same number.
  const again = await fitted({ ...asked, written, patch }, TRIES, 1);
  close(again.distanceBefore, made.distanceAfter, {
    abs: 0.05,
    unit: 'dB',
    why: 'settings are written to three digits',
  });
}

describe('a fit does no harm', () => {
  const factors = fc.noBias(
    fc.array(
      // Evenly spread, unlike doubles, of which most are next to nothing.
      fc.integer({ min: -18, max: 18 }).map((steps) => 2 ** (steps / 12)),
      { minLength: 1, maxLength: 5 },
    ),
  );

  it('to voices whose recordings are renders of their own with any settings', async () => {
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...VOICES), factors, async (voice, drawn) => {
        await isHarmless(voice, drawn);
      }),
      runs(3),
    );
  });

  it('even where it is stopped in the middle', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...VOICES),
        factors,
        fc.integer({ min: 1, max: TRIES }),
        async (voice, drawn, stopAfter) => {
          await isHarmless(voice, drawn, stopAfter);
        },
      ),
      runs(1),
    );
  });
});
