/** The inputs by which volts move the time of delay lines. */

import type { Net } from '../electrical/nets.ts';
import { timesOf } from '../modules/delay-line.ts';
import { exp2 } from '../modules/dsp/math.ts';
import type { PatchModule } from '../patch/patch.ts';
import type { Context } from './finding.ts';

export interface MovedLine {
  readonly module: PatchModule;
  readonly input: 'pitch' | 'control';
  readonly net: Net;
  /**
   * Time in s that so many volts at this input ask for, with 0 V at the other; negative where they ask for less
   * than 0 s.
   */
  timeAt(volts: number): number;
}

/** Every such input that something drives. */
export function movedLines({
  patch,
  netlist,
}: Pick<Context, 'patch' | 'netlist'>): readonly MovedLine[] {
  return patch.modules.flatMap((module): MovedLine[] => {
    if (module.definition.kind !== 'delay-line') return [];
    const { 'control-amount': amount, ...settings } = module.settings as {
      time: number;
      tune: number;
      'control-amount': number;
    };
    const { set } = timesOf(settings);
    const laws = {
      pitch: (volts: number) => set * exp2(-volts),
      control: (volts: number) => set * (1 + (amount * volts) / 5),
    };
    return (['pitch', 'control'] as const).flatMap((input): MovedLine[] => {
      const net = netlist.at({ module: module.name, jack: input });
      if (net === undefined || net.outputs.length === 0) return [];
      return [{ module, input, net, timeAt: laws[input] }];
    });
  });
}
