/** What is told of each variant: the measures of its clip, those of single hits as the median over them. */

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
  /** The median over the hits where it could be measured; null where it could in none. */
  readonly attackSeconds: number | null;
  readonly decayTauSeconds: number | null;
  readonly t60Seconds: number | null;
  readonly bands: readonly Band[];
}

export function summaryOf(measures: Measures): VariantMeasures {
  const { hits } = measures;
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
    attackSeconds: median(hits.flatMap(({ attackSeconds: value }) => value ?? [])),
    decayTauSeconds: median(hits.flatMap(({ decayTauSeconds: value }) => value ?? [])),
    t60Seconds: median(hits.flatMap(({ t60Seconds: value }) => value ?? [])),
    bands: measures.bands,
  };
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

function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = values.toSorted((a, b) => a - b);
  const middle = (sorted.length - 1) / 2;
  return ((sorted[Math.floor(middle)] as number) + (sorted[Math.ceil(middle)] as number)) / 2;
}
