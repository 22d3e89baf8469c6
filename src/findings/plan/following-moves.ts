/**
 * Moves that fire one envelope by the trigger of another, which frees a converter or a trigger input of a
 * scarce type.
 */

import { jackName, type PatchModule } from '../../patch/patch.ts';
import type { Context } from '../finding.ts';
import { hitsAt, upstream } from './hits.ts';
import type { PlanMove } from './move.ts';
import { alsoInto, cableTo, moduleNamed, without, withSettings } from './replug.ts';
import { ofGates, onlyBefore } from './sharing-moves.ts';
import { firedJack, typeNow, typeSet } from './trigger-type.ts';

export function followingMoves(context: Context): readonly PlanMove[] {
  const fired = context.patch.modules.filter((module) => {
    const jack = firedJack(module);
    return jack !== undefined && context.netlist.at(jack)?.outputs.length === 1;
  });
  return fired.flatMap((leader) =>
    fired.flatMap((follower) => (leader === follower ? [] : following(leader, follower, context))),
  );
}

function following(
  leader: PatchModule,
  follower: PatchModule,
  context: Context,
): readonly PlanMove[] {
  const { netlist } = context;
  const [from, to] = [leader, follower].map(firedJack);
  if (from === undefined || to === undefined) return [];
  const [net, own] = [netlist.at(from), netlist.at(to)];
  const [driver, before] = [net?.outputs[0], own?.outputs[0]];
  const [instead, hits] = [from, to].map(({ module, jack }) => hitsAt(module, jack, context));
  if (net === own || driver === undefined || before === undefined) return [];
  if (hits === undefined || instead === undefined) return [];
  // Each keeps its own shape: only the gates are shared.
  const price = ofGates(leader, follower, [from.jack, to.jack], hits, instead, context, true);
  const freed = onlyBefore(follower.name, context).filter(
    (name) => name !== follower.name && name === before.module.name,
  );
  const same = price.text === undefined ? ', which always do the same' : '';
  const names = [driver.module.name, before.module.name].join(' and ');
  const text =
    same !== '' && driver.module.definition === before.module.definition && freed.length > 0
      ? `take ${driver.module.name}.${driver.jack.name} for ${names}${same}, with a multiple: ${before.module.name} is free`
      : `let ${driver.module.name}.${driver.jack.name} fire ${follower.name} as well as ${leader.name}, with a multiple${freed.length > 0 ? `: ${before.module.name} is free` : ''}`;
  return [
    {
      action: 'share',
      text,
      costText: price.text,
      cost: price.cost,
      plays: { module: follower.name, instead },
      modules: [before.module.name, driver.module.name],
      touches: new Set(freed),
      sets: new Set([follower.name]),
      rehits: new Set(price.text === undefined ? [] : [follower.name]),
      keeps: new Set([leader.name]),
      hears: new Set([...upstream(leader.name, netlist)].map(({ name }) => name)),
      frees: new Set([
        follower.definition.kind,
        ...[...upstream(follower.name, netlist)].map(({ definition }) => definition.kind),
      ]),
      change(patch) {
        const [cable, old] = [cableTo(patch, from), cableTo(patch, to)];
        const now = moduleNamed(patch, leader.name);
        const trigger = now && typeNow(now);
        if (cable === undefined || old === undefined || trigger === undefined) return undefined;
        const bare = without(patch, [old]);
        // Fewer plugs may have moved the leader's.
        const source = cableTo(bare, from)?.from;
        if (source === undefined || moduleNamed(bare, source.module) === undefined)
          return undefined;
        const led = alsoInto(bare, source, to, old.place);
        if (led === undefined || jackName(source) === jackName(to)) return undefined;
        const own = moduleNamed(led, follower.name);
        return own === undefined || typeNow(own) === trigger
          ? led
          : withSettings(led, follower.name, typeSet(own, trigger));
      },
    },
  ];
}
