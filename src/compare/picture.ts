/** The data that the charts show of a variant: the level of one hit, and its spectrogram. */

import { powerEnvelope } from '../measure/hits/envelope.ts';
import { LOWEST_HZ } from '../measure/hits/hits.ts';
import { LongTermSpectrumMeter } from '../measure/spectrum/long-term-spectrum.ts';
import { quantileHz } from '../measure/spectrum/spectrum.ts';
import type { Point } from '../output/chart/lines.ts';
import { type Spectrogram, spectrogram } from '../output/chart/spectrogram.ts';
import { straightened } from '../output/chart/straightened.ts';

/** The window, as the charts show it. */
export interface Picture {
  /** Time, s from the window's start, and level, dB under full scale, rms; null for silence. */
  readonly envelope: readonly Point[];
  readonly spectrogram?: Spectrogram;
}

/** Points of an envelope's line, and pixels of a spectrogram: as fine as a printed chart can show. */
const POINTS = 320;
const PIXELS = { columns: 120, rows: 72 };
/** The largest error of a line, dB: less than a dot in the chart. */
const MISSED = 0.25;
/** A level is smoothed over two periods of the slowest wave that counts, within these bounds, s. */
const SMOOTHING = { least: 0.004, most: 0.05 };
/** The share of the power that lies under the slowest wave that counts. */
const LOW_SHARE = 0.1;

/**
 * Makes the picture of one hit.
 * @param isPictured whether a spectrogram is wanted too.
 */
export function pictureOf(samples: Float64Array, sampleRate: number, isPictured: boolean): Picture {
  const meter = new LongTermSpectrumMeter(sampleRate, 1);
  meter.add([samples], samples.length);
  const lowHz = quantileHz(meter.finish().strips, LOW_SHARE, LOWEST_HZ) ?? 1000;
  const window = Math.min(SMOOTHING.most, Math.max(SMOOTHING.least, 2 / lowHz));
  // Silence in front, so that the level is known from the first sample on.
  const lead = Math.round((window * sampleRate) / 2);
  const padded = new Float64Array(lead + samples.length);
  padded.set(samples, lead);
  const { power, step, start } = powerEnvelope(padded, {
    from: 0,
    to: padded.length,
    sampleRate,
    window,
  });
  const stride = Math.max(1, Math.ceil(power.length / POINTS));
  const points = Array.from({ length: Math.ceil(power.length / stride) }, (_, index): Point => {
    const value = power[index * stride] as number;
    const db = value > 0 ? Math.round(1000 * Math.log10(value)) / 100 : null;
    return [start - lead / sampleRate + index * step * stride, db];
  });
  return {
    envelope: straightened(points, MISSED),
    ...(isPictured && { spectrogram: spectrogram(samples, sampleRate, PIXELS) }),
  };
}
