/** A step of patching along in words and figures: what to measure. */

import { inVolts, isAtLimit } from '../../findings/words.ts';
import type { AlongStep, JackVolts } from './along.ts';

/** V: a meter shows no less than this. */
const STILL = 1e-3;

/**
 * Volts as a meter shows them, in words.
 * @param isGate whether they are told by what they do, rather than by their ends.
 */
export function voltsWords({ low, high, rest }: JackVolts, isGate: boolean): string {
  if (high - low < STILL) return `steady ${inVolts(rest)}`;
  const on = Math.abs(high - rest) >= Math.abs(low - rest) ? high : low;
  return isGate
    ? `${inVolts(rest)} at rest, ${inVolts(on)} when on`
    : `${inVolts(low)} to ${inVolts(high)}`;
}

/** Whether the volts of a step are those of gates. */
export function isGateStep({ cable }: AlongStep, { trigger }: JackVolts): boolean {
  return cable.sort === 'gate' || trigger !== undefined;
}

/** What to expect of a trigger input; undefined at another. */
export function triggerWords({ trigger }: JackVolts): string | undefined {
  if (trigger === undefined) return undefined;
  const { type, on, off, margin, release } = trigger;
  const side = type === 'voltage' ? 'over' : 'under';
  const other = type === 'voltage' ? 'under' : 'over';
  const fate = isAtLimit(margin)
    ? 'That is right at its limit: it may fire or not.'
    : margin < 0
      ? `It never fires: ${inVolts(-margin)} is missing.`
      : release < 0
        ? 'It never lets go.'
        : `That leaves ${inVolts(margin)} to spare.`;
  return `It fires ${side} ${inVolts(on)} and is ready again ${other} ${inVolts(off)}. ${fate}`;
}

/** What a meter shows of volts that are played. */
export interface PlayedVolts {
  readonly low: number;
  readonly high: number;
  /** V, root mean square about the mean: what a meter for alternating volts shows. */
  readonly alternating: number;
}

/** Measures volts. @param volts one or more. */
export function playedVolts(volts: Float64Array | Float32Array): PlayedVolts {
  let low = Infinity;
  let high = -Infinity;
  let sum = 0;
  let squares = 0;
  for (const value of volts) {
    low = Math.min(low, value);
    high = Math.max(high, value);
    sum += value;
    squares += value * value;
  }
  const mean = sum / volts.length;
  return { low, high, alternating: Math.sqrt(Math.max(0, squares / volts.length - mean * mean)) };
}

/** Played volts in words. */
export function playedWords({ low, high, alternating }: PlayedVolts, isSound: boolean): string {
  if (high - low < STILL) return `steady ${inVolts(low)}`;
  const range = `${inVolts(low)} to ${inVolts(high)}`;
  return isSound ? `${range}; ${inVolts(alternating)} on a meter for alternating volts` : range;
}
