/** The end of what an output can give: an op-amp's output stops at its supply. */

import { RAIL_VOLTS } from '../facts.ts';

/**
 * A constant of this file's own: V8 takes its number into the loop, where it would look an imported
 * one up for every sample and box what might be it.
 */
const RAIL = RAIL_VOLTS;

/**
 * Limits volts to the supply rails.
 * Deviation: real op-amps stop a volt or two short of their supply, and a little softly.
 */
export function toRails(volts: number): number {
  if (volts > RAIL) return RAIL;
  if (volts < -RAIL) return -RAIL;
  return volts;
}
