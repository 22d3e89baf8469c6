// Values that a fit reports as equally good are so: at both ends of the range of each setting, the voice is
// rendered again. A setting whose effect is rough shows no rise in a small step, but does in a large one.

import { expect, it } from 'vitest';
import { channelOf, fitPatch } from '../../src/fit/fit.ts';
import { DECIDED } from '../../src/fit/flat.ts';
import { limited } from '../../src/fit/limits.ts';
import { voicePath } from '../../src/fit/path.ts';
import { recordedHits } from '../../src/fit/recording.ts';
import { usualKnobs } from '../../src/fit/settings.ts';
import { Tries } from '../../src/fit/tries.ts';
import { rendered, source } from '../compare/fit-recordings.ts';
import { written } from '../compare/written.ts';

it('is what a fit of many settings tells as alike', async () => {
  const { written: texts, patch } = written(
    `parts: { voice: parts/rim.yaml }
modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [rim], patterns: { once: { rim: "x---" } } }
  out: { kind: output }
cables: [drums.rim -> voice.gate.in, voice.touch.out -> out.left]`,
    ['parts/rim.yaml'],
  );
  const channel = channelOf(patch, 'rim');
  const sampleRate = 12_000;
  const samples = rendered(texts, ['voice.stick-1.decay=200 ms'], { sampleRate, seconds: 1 });
  const recording = recordedHits(source(sampleRate, samples), 'rim');
  const usual = usualKnobs(patch, voicePath(patch, channel));
  // Enough for them to be moved together, and few enough to take little time.
  const some = usual.filter(({ module }) =>
    ['stick-1', 'wires', 'weight'].includes(module.slice(6)),
  );
  const knobs = limited(some, patch, recording.longest);
  const asked = { written: texts, recording, channel, knobs, isLevelled: true };
  const { settings } = await fitPatch({
    ...{ ...asked, tries: 150 },
    concernsOf: () => [],
    onProgress: () => undefined,
    breathe: () => Promise.resolve(),
    isStopped: () => false,
  });
  const tries = new Tries({ ...asked, onRender: () => Promise.resolve() });
  // The first are those of the patch, which tell what too quiet is.
  await tries.at(knobs.map(({ before }) => before));
  const found = knobs.map(
    ({ path, before }) => settings.find(({ knob }) => knob.path === path)?.after ?? before,
  );
  const least = await tries.aside(found);
  const wrong: string[] = [];
  for (const [axis, { path, low, high }] of knobs.entries()) {
    const alike = settings.find(({ knob }) => knob.path === path)?.alike;
    if (alike === undefined || alike === null) continue;
    for (const end of [alike.low ?? low, alike.high ?? high]) {
      const rise = (await tries.aside(found.with(axis, end))) - least;
      if (rise >= DECIDED) wrong.push(`${path}=${end} ${rise}`);
    }
  }
  expect(wrong).toEqual([]);
});
