/** The measures of each variant: those of its clip, and of single hits their median. */

import { type Defect, defectsOf } from '../measure/defects.ts';
import { ringing } from '../measure/hits/bursts.ts';
import type { Hit } from '../measure/hits/hits.ts';
import { typical, type Weighed } from '../measure/hits/typical.ts';
import type { Mends } from '../measure/mended.ts';
import type { Overall } from '../measure/overall.ts';
import type { Measures } from '../measure/signal.ts';

/**
 * Of a hit's figures the median over the hits, weighted by how far each can be trusted; null where none can. Of
 * strokes that are heard as one, the last rings on.
 */
export interface VariantMeasures
  extends Omit<Overall, 'sampleRate' | 'frames' | 'condition'>,
    Pick<Hit, 'attackSeconds' | 'decayTauSeconds' | `${FallFigure}Seconds`> {
  readonly onsets: number;
  /** How far each of these can be trusted, from 0 to 1: see `typical`. */
  readonly reliability: { readonly [figure in HitFigure]: number };
  /** What its sound suffers from, as `measure` tells it of a recording. */
  readonly suffers: readonly Defect['kind'][];
  /** What of this was removed before its hits were measured; it is still in its sound. */
  readonly hitsWithout: readonly ('drift' | 'hum')[];
}

/** The figures that are measured hit by hit. */
export type HitFigure = 'attack' | 'decay' | FallFigure;
type FallFigure = 'edt' | 't20' | 't60' | 'down20' | 'down40' | 'down60';

/**
 * @param bits of a sample; 0 where these have no steps.
 * @param mends the drift and hum that were removed before its hits were measured.
 */
export function summaryOf(measures: Measures, bits: number, mends?: Mends): VariantMeasures {
  const { hits } = measures;
  const last = ringing(hits);
  const attack = typical(
    hits.map((hit) => ({ value: hit.attackSeconds, reliability: hit.reliability.attack })),
  );
  const decay = typical(
    last.map((hit) => ({ value: hit.decayTauSeconds, reliability: hit.reliability.decay })),
  );
  const [edt, t20, t60] = [fallOf(last, 'edt'), fallOf(last, 't20'), fallOf(last, 't60')];
  const [down20, down40] = [fallOf(last, 'down20'), fallOf(last, 'down40')];
  const down60 = fallOf(last, 'down60');
  return {
    seconds: measures.seconds,
    channels: measures.channels,
    peakDbfs: measures.peakDbfs,
    truePeakDbtp: measures.truePeakDbtp,
    loudnessLufs: measures.loudnessLufs,
    crestDb: measures.crestDb,
    dcOffset: measures.dcOffset,
    centroidHz: measures.centroidHz,
    flatness: measures.flatness,
    onsets: measures.onsets.length,
    attackSeconds: attack.value,
    decayTauSeconds: decay.value,
    edtSeconds: edt.value,
    t20Seconds: t20.value,
    t60Seconds: t60.value,
    down20Seconds: down20.value,
    down40Seconds: down40.value,
    down60Seconds: down60.value,
    reliability: {
      attack: attack.reliability,
      decay: decay.reliability,
      edt: edt.reliability,
      t20: t20.reliability,
      t60: t60.reliability,
      down20: down20.reliability,
      down40: down40.reliability,
      down60: down60.reliability,
    },
    bands: measures.bands,
    suffers: defectsOf(measures, bits).map(({ kind }) => kind),
    hitsWithout: [
      ...(mends?.drift ? (['drift'] as const) : []),
      ...(mends !== undefined && mends.hum.length > 0 ? (['hum'] as const) : []),
    ],
  };
}

function fallOf(hits: readonly Hit[], name: FallFigure): Weighed {
  return typical(
    hits.map((hit) => ({ value: hit[`${name}Seconds`], reliability: hit.reliability[name] })),
  );
}

/** The same after a gain; loudness and true peak are those measured in the written clip. */
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
