/** What is told of each variant: the measures of its clip, those of single hits as their median. */

import { ringing } from '../measure/hits/bursts.ts';
import type { Hit } from '../measure/hits/hits.ts';
import { typical } from '../measure/hits/typical.ts';
import type { Measures } from '../measure/signal.ts';
import type { Band } from '../measure/spectrum/bands.ts';

export interface VariantMeasures {
  readonly seconds: number;
  readonly channels: number;
  /** Levels are null for silence. */
  readonly peakDbfs: number | null;
  readonly truePeakDbtp: number | null;
  readonly loudnessLufs: number | null;
  readonly crestDb: number | null;
  readonly centroidHz: number | null;
  readonly flatness: number | null;
  readonly onsets: number;
  /**
   * The median over the hits, weighted by how far each can be trusted; null where none can. Of strokes
   * that are heard as one, the last rings on.
   */
  readonly attackSeconds: number | null;
  readonly decayTauSeconds: number | null;
  readonly edtSeconds: number | null;
  readonly t20Seconds: number | null;
  readonly t60Seconds: number | null;
  /** From the loudest until the level is down by so many dB. */
  readonly down20Seconds: number | null;
  readonly down40Seconds: number | null;
  readonly down60Seconds: number | null;
  readonly bands: readonly Band[];
}

export function summaryOf(measures: Measures): VariantMeasures {
  const { hits } = measures;
  const last = ringing(hits);
  return {
    seconds: measures.seconds,
    channels: measures.channels,
    peakDbfs: measures.peakDbfs,
    truePeakDbtp: measures.truePeakDbtp,
    loudnessLufs: measures.loudnessLufs,
    crestDb: measures.crestDb,
    centroidHz: measures.centroidHz,
    flatness: measures.flatness,
    onsets: measures.onsets.length,
    attackSeconds: typical(
      hits.map((hit) => ({ value: hit.attackSeconds, reliability: hit.reliability.attack })),
    ),
    decayTauSeconds: typical(
      last.map((hit) => ({ value: hit.decayTauSeconds, reliability: hit.reliability.decay })),
    ),
    edtSeconds: typicalTime(last, 'edt'),
    t20Seconds: typicalTime(last, 't20'),
    t60Seconds: typicalTime(last, 't60'),
    down20Seconds: typicalTime(last, 'down20'),
    down40Seconds: typicalTime(last, 'down40'),
    down60Seconds: typicalTime(last, 'down60'),
    bands: measures.bands,
  };
}

function typicalTime(
  hits: readonly Hit[],
  name: 'edt' | 't20' | 't60' | 'down20' | 'down40' | 'down60',
): number | null {
  return typical(
    hits.map((hit) => ({ value: hit[`${name}Seconds`], reliability: hit.reliability[name] })),
  );
}

/** The same after a gain; loudness and true peak are measured of what was written. */
export function amplified(
  measures: VariantMeasures,
  written: {
    readonly gainDb: number;
    readonly loudnessLufs: number | null;
    readonly truePeakDbtp: number | null;
  },
): VariantMeasures {
  const { gainDb, loudnessLufs, truePeakDbtp } = written;
  const { peakDbfs, bands } = measures;
  return {
    ...measures,
    loudnessLufs,
    truePeakDbtp,
    peakDbfs: peakDbfs === null ? null : peakDbfs + gainDb,
    bands: bands.map((band) => ({ ...band, db: band.db === null ? null : band.db + gainDb })),
  };
}
