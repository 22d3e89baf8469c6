/** The end of what an output can give: an op-amp's output stops at its supply. */

import { RAIL_VOLTS } from '../facts.ts';

/**
 * Limits volts to the supply rails.
 * Deviation: real op-amps stop a volt or two short of their supply, and a little softly.
 */
export function toRails(volts: number): number {
  if (volts > RAIL_VOLTS) return RAIL_VOLTS;
  if (volts < -RAIL_VOLTS) return -RAIL_VOLTS;
  return volts;
}
