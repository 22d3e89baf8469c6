/** Feedback: the jacks through which a sound or a control voltage comes back to where it was made. */

import type { Net, Netlist } from '../electrical/nets.ts';
import { nodeLaw, nodeVolts } from '../electrical/node-law.ts';
import { runningOrder } from '../engine/order.ts';
import { RAIL_VOLTS } from '../modules/facts.ts';
import type { Cable, JackRef, Patch, PatchModule } from '../patch/patch.ts';

export interface LoopJack {
  readonly jack: JackRef;
  readonly net: Net;
  /** V; within 1 % of what the jack is at with the output at the supply rail. */
  readonly limit: number;
  /** The modules of the loop, in the order of their names. */
  readonly loop: readonly PatchModule[];
  /** The cables of the loop. */
  readonly cables: readonly Cable[];
}

/** The outputs that drive a module of their own loop. Loops of gates alone are left out. */
export function loopJacks(patch: Patch, { at }: Netlist): readonly LoopJack[] {
  const { modules } = patch;
  const index = new Map(modules.map((module, i) => [module, i]));
  const netOf = (module: PatchModule, jack: string): Net | undefined =>
    at({ module: module.name, jack });
  const drivers = modules.map((module) =>
    module.jacks.flatMap((jack) =>
      jack.direction === 'in'
        ? (netOf(module, jack.name)?.outputs ?? []).map(
            (output) => index.get(output.module) as number,
          )
        : [],
    ),
  );
  const groups = runningOrder({ names: modules.map(({ name }) => name), drivers });
  return groups
    .filter(([first, ...others]) => {
      return others.length > 0 || (first !== undefined && drivers[first]?.includes(first));
    })
    .flatMap((group) => {
      const loop = group.map((i) => modules[i] as PatchModule);
      const found = loop.flatMap((module) =>
        module.jacks.flatMap((jack): Omit<LoopJack, 'cables' | 'loop'>[] => {
          if (jack.direction !== 'out' || (jack.signal !== 'audio' && jack.signal !== 'control'))
            return [];
          const net = netOf(module, jack.name);
          if (net === undefined || !net.inputs.some((input) => loop.includes(input.module)))
            return [];
          const rails = net.outputs.map(() => RAIL_VOLTS);
          const limit = 0.99 * Math.abs(nodeVolts(nodeLaw(net), rails));
          return [{ jack: { module: module.name, jack: jack.name }, net, limit }];
        }),
      );
      const cables = found.flatMap(({ net }) => net.cables);
      return found.map((one) => ({ ...one, loop, cables }));
    });
}
