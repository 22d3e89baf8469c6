/** The inputs by which volts move the time of what delays, such as a delay line. */

import type { Net } from '../electrical/nets.ts';
import type { Delayed } from '../modules/definition.ts';
import type { PatchModule } from '../patch/patch.ts';
import type { Context } from './finding.ts';

export interface MovedLine {
  readonly module: PatchModule;
  readonly input: string;
  readonly net: Net;
  readonly times: Delayed;
  /** See {@link Delayed.asked}. */
  timeAt(volts: number): number;
}

/** Every such input that something drives. */
export function movedLines({
  patch,
  netlist,
}: Pick<Context, 'patch' | 'netlist'>): readonly MovedLine[] {
  return patch.modules.flatMap((module): MovedLine[] => {
    const times = module.definition.delayed?.(module.settings);
    return Object.entries(times?.asked ?? {}).flatMap(([input, timeAt]): MovedLine[] => {
      const net = netlist.at({ module: module.name, jack: input });
      if (times === undefined || net === undefined || net.outputs.length === 0) return [];
      return [{ module, input, net, times, timeAt }];
    });
  });
}
