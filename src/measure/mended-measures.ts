/** The measures of a recording, those of its hits taken again without drift and hum where it has any. */

import { EventMeter, type WantedMeasures } from './hits/events.ts';
import { type Mends, mendedOf } from './mended.ts';
import type { SampleBlock } from './samples.ts';
import type { Measures } from './signal.ts';

/**
 * Measures the hits of a recording again, if it has drift or hum that can be removed.
 * @param first all its measures, as it is.
 * @param again all its blocks, once more at each call.
 * @returns `first` itself, and no mends, where nothing was removed.
 */
export function mendedMeasures(
  first: Measures,
  again: () => Iterable<SampleBlock>,
  wanted: Partial<WantedMeasures> = {},
): { readonly measures: Measures; readonly mends: Mends | undefined } {
  const mended = mendedOf(again(), first);
  if (mended === undefined) return { measures: first, mends: undefined };
  const meter = new EventMeter(first.sampleRate, first.channels, wanted, mended.left);
  for (const block of mended.blocks(again())) meter.add(block);
  return { measures: { ...first, ...meter.finish() }, mends: mended.mends };
}
