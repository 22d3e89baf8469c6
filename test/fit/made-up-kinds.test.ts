// Patches with kinds that are only definitions, fitted to recordings, ranked and grown.

import { expect, it } from 'vitest';
import { readVariant } from '../../src/compare/variant.ts';
import { channelOf, type FitRequest, fitPatch } from '../../src/fit/fit.ts';
import { grownFit } from '../../src/fit/grow.ts';
import { rankedVoices } from '../../src/fit/ranking.ts';
import { recordedHits } from '../../src/fit/recording.ts';
import { readKnobs } from '../../src/fit/settings.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import type { PatchTexts } from '../../src/patch/texts.ts';
import { close } from '../close.ts';
import { rendered, source } from '../compare/fit-recordings.ts';
import { swell, swelling, valve } from '../modules/swell.ts';

const kinds = [...KINDS, swell, valve];
const textsOf = (text: string): PatchTexts => ({
  main: 'own.yaml',
  set: [],
  texts: { 'own.yaml': text },
});
const readOf = (texts: PatchTexts): Patch => readVariant(texts, [], { kinds }).patch as Patch;
const texts = textsOf(swelling('50 %', '100 ms'));
const patch = readOf(texts);

/** A fit to a render with other settings, in a few tries. */
const fitTo = (recordedFrom: string, set: readonly string[], vary: readonly string[]) => {
  const sampleRate = 12_000;
  const samples = rendered(textsOf(recordedFrom), set, { sampleRate, seconds: 2, kinds });
  const channel = channelOf(patch, undefined);
  return {
    ...{ written: texts, channel, kinds, tries: 40, isLevelled: true },
    recording: recordedHits(source(sampleRate, samples), 'own.wav'),
    knobs: readKnobs(vary, patch),
    concernsOf: () => [],
    onProgress: () => undefined,
    breathe: () => Promise.resolve(),
    isStopped: () => false,
  } satisfies FitRequest;
};
const slow = swelling('50 %', '100 ms').replace('x-x-', 'x---');

it('are fitted: the time of a fall is found', async () => {
  const request = fitTo(slow, ['shape.decay=200ms'], ['shape.decay=20ms..1s']);
  const fit = await fitPatch(request);
  const after = fit.settings[0]?.after ?? 0;
  close(after, 0.2, { abs: 0.03, unit: 's', why: 'as for the kinds that there are: 15 %' });
  expect(fit.text).toMatch(/kind: swell, attack: 10 ms, decay: (19|20|21)/);
  const { ranked, leftOut, renders } = await rankedVoices([{ ...request, name: 'own' }], request);
  expect(leftOut).toEqual([]);
  // The fit's, and one at least for its kind of drum.
  expect(renders).toBeGreaterThan(ranked[0]?.fit?.tries as number);
  expect(ranked.map(({ fit: one }) => one !== undefined)).toEqual([true]);
});

it('are grown by the layer that they lack', async () => {
  const rung = slow
    .replace('  out:', '  ring:  { kind: resonator, at-zero: 400 Hz, decay: 500 ms }\n  out:')
    .replace('  out:', '  copy:  { kind: multiple }\n  both:  { kind: mixer }\n  out:')
    .replace('drums.hit  -> shape.trigger', 'drums.hit -> copy.in\n  - copy.out-1 -> shape.trigger')
    .replace('gate.out   -> out.left', 'gate.out -> both.in-2\n  - copy.out-2 -> ring.strike')
    .concat('  - ring.out -> both.in-1\n  - both.out -> out.left\n');
  const request = fitTo(rung, [], ['shape.decay=20ms..1s']);
  const { fit, growths } = await grownFit(
    { ...request, knobsOf: () => request.knobs },
    await fitPatch(request),
  );
  expect(growths[0]?.layer?.modules.join()).toContain('resonator');
  expect(growths[0]?.after).toBeLessThan(growths[0]?.before as number);
  const grown = textsOf(fit.text);
  expect(readOf(grown).modules.map(({ definition }) => definition.kind)).toContain('swell');
  expect(fit.text).toContain('kind: valve');
});
