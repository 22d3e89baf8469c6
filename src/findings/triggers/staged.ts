/**
 * What an output's stage makes of its circuit's pulses, in closed form, sample for sample as it does: pulses of
 * one width, and slow edges.
 *
 *   y(k) = 1 - (1 - y(0)) a^k rising, y(0) a^k falling,  a = exp(-ln 9 / (rise rate))
 *
 * in shares of the step, k samples from the last one before the edge.
 */

import { pulseLength, risePerSample } from '../../engine/wiring.ts';
import type { OutputStage } from '../../modules/facts.ts';
import { type GatePulse, stretched } from '../../modules/gates.ts';

/** The pulses at the jack, each from where the stage's level steps. */
export function atJack(
  pulses: readonly GatePulse[],
  stage: OutputStage | undefined,
  sampleRate: number,
): readonly GatePulse[] {
  const length = stage === undefined ? 0 : pulseLength(stage, sampleRate);
  return length === 0 ? pulses : stretched(pulses, length, true);
}

/** The thresholds of an input, in shares of the step from its idle volts to those that should drive it. */
export interface Crossing {
  readonly on: number;
  readonly off: number;
}

/**
 * The pulses that an input sees, from threshold to threshold. One that ends before it has risen so far has
 * no length.
 */
export function seenThrough(
  pulses: readonly GatePulse[],
  stage: OutputStage,
  { on, off }: Crossing,
  sampleRate: number,
): readonly GatePulse[] {
  const pull = risePerSample(stage, sampleRate);
  if (pull === 1) return pulses;
  const kept = Math.log1p(-pull);
  /** Samples until the remaining way to a level has shrunk to a share. */
  const after = (share: number): number => Math.max(1, Math.ceil(Math.log(share) / kept));
  const seen: { start: number; end: number }[] = [];
  let level = 0;
  let last = 0;
  for (const { start, end } of pulses) {
    level *= Math.exp(kept * (start - last));
    const open = seen.at(-1);
    // It has not let go of the pulse before.
    const holds = open !== undefined && level > off && open.end > start;
    if (holds) open.end = Number.POSITIVE_INFINITY;
    const rise = level >= on ? 0 : after((1 - on) / (1 - level)) - 1;
    const reaches = start + rise < end;
    if (!holds) seen.push({ start: reaches ? start + rise : start, end: start });
    const pulse = seen.at(-1) as { start: number; end: number };
    if (end === Number.POSITIVE_INFINITY) {
      if (holds || reaches) pulse.end = end;
      break;
    }
    level = 1 - (1 - level) * Math.exp(kept * (end - start));
    last = end;
    if (holds || reaches) pulse.end = level <= off ? end : end + after(off / level) - 1;
  }
  return seen;
}
