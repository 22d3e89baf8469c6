/** The measures of a sound in words, as they are shown side by side. */

import { withDoubt } from '../measure/doubt.ts';
import type { HitFigure, VariantMeasures } from './measures.ts';

/** A figure: its name, and its value, with the sign of a figure in doubt. */
export interface Figure {
  readonly name: string;
  readonly of: (measures: VariantMeasures) => string;
}

/** In the order in which they are shown. */
export const FIGURES: readonly Figure[] = [
  {
    name: 'loudness',
    of: ({ loudnessLufs, truePeakDbtp }) => {
      if (loudnessLufs !== null) return unit(loudnessLufs, 1, 'LUFS');
      return truePeakDbtp === null ? 'silent' : '< -70 LUFS';
    },
  },
  { name: 'true peak', of: ({ truePeakDbtp }) => unit(truePeakDbtp, 1, 'dBTP') },
  { name: 'attack', of: (of) => hitTime(of.attackSeconds, of, 'attack') },
  { name: 'decay tau', of: (of) => hitTime(of.decayTauSeconds, of, 'decay') },
  { name: 'T60', of: (of) => hitTime(of.t60Seconds, of, 't60') },
  { name: 'centroid', of: ({ centroidHz }) => unit(centroidHz, 0, 'Hz') },
  { name: 'flatness', of: ({ flatness }) => unit(flatness, 3, '') },
];

/** A gain with its sign: `+1.5 dB`. */
export function gainText(db: number): string {
  return `${db < 0 ? '' : '+'}${db.toFixed(1)} dB`;
}

/** The level of the difference of two sounds. @param db null if they are the same. */
export function differenceText(db: number | null): string {
  return db === null ? 'nothing left' : gainText(db);
}

function hitTime(value: number | null, of: VariantMeasures, figure: HitFigure): string {
  return withDoubt(milliseconds(value, 1), of.reliability[figure]);
}

/** A time in s as ms, without decimals from 100 ms on. @param digits decimals under that. */
export function milliseconds(value: number | null, digits = 2): string {
  return value === null ? '-' : `${(1000 * value).toFixed(value < 0.1 ? digits : 0)} ms`;
}

/** A figure with its unit; `-` for one that there is not. */
export function unit(value: number | null, digits: number, name: string): string {
  return value === null ? '-' : `${value.toFixed(digits)} ${name}`.trimEnd();
}
