/**
 * How likely a recording is by renders of a voice with noise. What is least is how unlikely the recording's powers are, as noise
 * of the renders' mean power: of p with the mean m, n (p / m + log m), where n is how many independent values p is the
 * mean of. Source: P. Whittle's likelihood of a spectrum, J. R. Stat. Soc. B 15 (1953) 125-139 (from memory). Deviation:
 * the powers are smoothed, and their level is free. Not all of a voice is noise: a struck tone is the same in each
 * draw, so its powers tell more than those of noise, and what a random voltage moves tells less. So n is that of the
 * band's width, the larger, the less the draws differ.
 */

import { mean } from '../measure/mean.ts';
import { smallest } from '../modules/dsp/extremes.ts';
import type { DistanceParts } from './voice-renders.ts';

/** Independent values that 10 ms of the lowest band have: a third octave at 50 Hz is 11.6 Hz wide. */
const VALUES = 0.116;
/**
 * How much the draws differ is looked for in so many bands to each side, too. That they differ as noise does counts as so many
 * differences that are known.
 */
const SCATTER = { bands: 1, known: 3 };
/** Draws that differ by less in all bands and moments are of one sound, dB. */
const STEADY_DB = 0.1;

/** The residuals of a render, band by band. */
export type DrawResiduals = Pick<DistanceParts, 'left'>;

/**
 * How many independent values the power of each band and moment tells, as the scatter between renders has it.
 * @param bands of third octaves, from the lowest up.
 * @param hits that powers are the mean of.
 */
export function tellingValues(
  draws: readonly DrawResiduals[],
  bands: number,
  hits: number,
): readonly Float64Array[] {
  const { spans, frames } = spansOf(draws, bands);
  // A third octave that is twice as high is twice as wide.
  const values = Array.from({ length: bands }, (_, band) => VALUES * 2 ** (band / 3) * hits);
  // In units of what noise has: a moment of a narrow band is one value, which those beside it share.
  const scatter = values.map((own, band) =>
    new Float64Array(frames).map((_, frame) => {
      const powers = powersAt(draws, spans, band, frame);
      if (powers === null) return draws.length - 1;
      const middle = mean(powers);
      const squares = powers.reduce((sum, power) => sum + (power / middle - 1) ** 2, 0);
      return Math.max(hits, own) * squares;
    }),
  );
  return values.map((own, band) => {
    const near = scatter.slice(Math.max(0, band - SCATTER.bands), band + SCATTER.bands + 1);
    const known = SCATTER.known + near.length * (draws.length - 1);
    return new Float64Array(frames).map(
      (_, frame) =>
        (own * known) / near.reduce((sum, row) => sum + (row[frame] as number), SCATTER.known),
    );
  });
}

/**
 * The logarithm of the recording's power over the renders' mean power, of each band and moment; NaN where both are under the floor,
 * or a render has ended before; infinite if one makes no sound.
 * @param draws the residuals of each render.
 * @param values how many each band has at each moment.
 */
export function powerLogs(
  draws: readonly DrawResiduals[],
  values: readonly Float64Array[],
): Float64Array {
  const { spans, frames } = spansOf(draws, values.length);
  const width = values[0]?.length ?? 0;
  const none = frames === 0 ? Number.POSITIVE_INFINITY : Number.NaN;
  const logs = new Float64Array(values.length * width).fill(none);
  for (let band = 0; band < values.length; band++)
    for (let frame = 0; frame < Math.min(width, frames); frame++) {
      const powers = powersAt(draws, spans, band, frame);
      if (powers !== null) logs[band * width + frame] = -Math.log(mean(powers));
    }
  return logs;
}

/**
 * How unlikely a recording is: of all bands and moments, as many times as they have independent values, the logarithm of
 * the arithmetic mean over the geometric one of the recording's powers over the renders'. It is 0 where all are in one
 * ratio, and has no end for a render without sound.
 * @param logs as {@link powerLogs} has them.
 * @param values how many each of them has, in the same order.
 */
export function unlikeliness(logs: Float64Array, values: Float64Array): number {
  const { whole, level } = commonLevel(logs, values);
  if (whole === 0 || level === Number.POSITIVE_INFINITY) return whole && level;
  let sum = 0;
  logs.forEach((log, k) => {
    if (!Number.isNaN(log)) sum += (values[k] as number) * log;
  });
  return whole * level - sum;
}

/** How many values all have together, and the logarithm of the mean of what `logs` are the logarithms of. */
export function commonLevel(logs: Float64Array, values: Float64Array) {
  let whole = 0;
  let sum = 0;
  logs.forEach((log, k) => {
    if (Number.isNaN(log)) return;
    const own = values[k] as number;
    whole += own;
    sum += own * Math.exp(log);
  });
  return { whole, level: Math.log(sum / whole) };
}

/** Whether the draws hardly differ. */
export function isSteady([first, ...others]: readonly DrawResiduals[]): boolean {
  return others.every(
    ({ left }) =>
      left.length === first?.left.length &&
      left.every((db, k) => Math.abs(db - (first.left[k] as number)) < STEADY_DB),
  );
}

/** How many moments each render has, and how many all have. */
function spansOf(draws: readonly DrawResiduals[], bands: number) {
  const spans = draws.map(({ left }) => Math.floor(left.length / bands));
  return { spans, frames: smallest(spans) };
}

/** The power of each render over the recording's; null where it is under the floor in all of them. */
function powersAt(
  draws: readonly DrawResiduals[],
  spans: readonly number[],
  band: number,
  frame: number,
): readonly number[] | null {
  const residuals = draws.map(
    ({ left }, draw) => left[band * (spans[draw] as number) + frame] as number,
  );
  return residuals.some((db) => db !== 0) ? residuals.map((db) => 10 ** (-db / 10)) : null;
}
