// Fits to recorded drums: those that Debian's `freepats` installs (GPL-2 or later with an exception), read
// from where they are installed; none of them is here. `npm run bench -- fit` takes all of them, those kept out of every
// test too; the two here are among those that the fit was tuned by.

import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Take } from '../../src/engine/take.ts';
import { channelOf, fitPatch } from '../../src/fit/fit.ts';
import { limited } from '../../src/fit/limits.ts';
import { voicePath } from '../../src/fit/path.ts';
import { recordedHits } from '../../src/fit/recording.ts';
import { usualKnobs } from '../../src/fit/settings.ts';
import { likenessOf } from '../../src/measure/likeness/likeness.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { hitDistance } from '../bench/hit-distance.mjs';
import { hasRecordings, recording } from '../bench/recordings.mjs';
import { close } from '../close.ts';
import { source } from '../compare/fit-recordings.ts';
import { PATCHES, written } from '../compare/written.ts';

it.runIf(process.env.CI !== undefined)('the recordings are there where CI runs', () => {
  expect(hasRecordings()).toBe(true);
});
if (!hasRecordings())
  process.stderr.write(
    "SKIPPED: fits to recorded drums, since Debian's package freepats is not installed.\n",
  );

const PARTS = readdirSync(join(PATCHES, 'parts')).map((name) => `parts/${name}`);

function voice(part: string, gate: string, out: string): string {
  return `seed: workshop
parts: { voice: parts/${part}.yaml }
modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "x---------------" } } }
  out: { kind: output }
cables: [drums.hit -> voice.${gate}, voice.${out} -> out.left]
`;
}

function played(patch: Patch, sampleRate: number): Float64Array {
  const take = new Take(patch, {
    sampleRate,
    length: { unit: 'seconds', value: 1 },
    tail: { unit: 'seconds', value: 0 },
  });
  const samples = new Float64Array(take.totalFrames ?? 0);
  for (let frames = take.read(), at = 0; frames > 0; at += frames, frames = take.read())
    samples.set((take.channels[0] as Float64Array).subarray(0, frames), at);
  return samples;
}

describe.runIf(hasRecordings())('a fit to a recorded drum', () => {
  it.each([
    ['060_Bongo_High', 'tom', 'gate.in', 'touch.out'],
    ['067_Agogo_High', 'bell', 'gate.in', 'touch.out'],
  ])(
    'halves the distance of %s, and tells the distance that a render of it has',
    async (name, part, gate, out) => {
      const { samples, rate } = recording(name);
      const { written: texts, patch } = written(voice(part, gate, out), PARTS);
      const channel = channelOf(patch, undefined);
      const hits = recordedHits(source(rate, samples), name);
      const knobs = limited(usualKnobs(patch, voicePath(patch, channel)), patch, hits.longest);
      const made = await fitPatch({
        ...{ written: texts, recording: hits, channel, knobs },
        tries: 250,
        isLevelled: true,
        concernsOf: () => [],
        onProgress: () => {},
        breathe: () => Promise.resolve(),
        isStopped: () => false,
      });
      const [before, after] = [patch, written(made.text, PARTS).patch].map((one) =>
        played(one, rate),
      );
      const far = (one: Float64Array | undefined): number =>
        hitDistance(samples, one as Float64Array, rate);
      // By a bank of filters of its own, which knows nothing of src.
      expect(far(after) / far(before)).toBeLessThan(0.5);
      // Two roundings of the same sums: a WAV is not between them.
      const measured = likenessOf(
        { sampleRate: rate, channels: [after as Float64Array] },
        { sampleRate: rate, channels: [samples] },
      );
      close(measured.db, made.distanceAfter, {
        abs: 0.05,
        unit: 'dB',
        why: 'settings are written to three digits',
      });
    },
    60_000,
  );
});
