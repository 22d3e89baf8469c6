/** What is known of a patch before anything is played: its nets and their volts. */

import { type NetLevels, patchLevels } from '../electrical/levels.ts';
import type { Net, Netlist } from '../electrical/nets.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import type { Patch } from '../patch/patch.ts';

export interface Outset {
  readonly prepared: Prepared;
  readonly patch: Patch;
  readonly netlist: Netlist;
  /** Volts and margins of every net of the netlist, at `tolerance`. */
  readonly levels: ReadonlyMap<Net, NetLevels>;
  /** Share by which every resistance, level, threshold and time of a jack may be off: 0.05 for 5 %; 0 unless asked. */
  readonly tolerance: number;
}

/**
 * Works it out.
 * @param of a checked patch, with its rack's facts in its jacks if it has one.
 * @param tolerance share by which every resistance, level, threshold and time of a jack may be off, 0 to 0.5.
 */
export function outsetOf(of: Patch | Prepared, tolerance = 0): Outset {
  const all = prepared(of);
  const { patch, nets } = all;
  const worst = tolerance === 0 ? all.levels : patchLevels(patch, tolerance, nets);
  const levels = new Map(worst.map((one) => [one.net, one]));
  return { prepared: all, patch, netlist: nets, levels, tolerance };
}
