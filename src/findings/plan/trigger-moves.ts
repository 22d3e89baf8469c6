/** Moves that fire an envelope in the other way: by voltage without a converter, or by a switch behind one. */

import type { Net } from '../../electrical/nets.ts';
import { triggerConverter } from '../../modules/trigger-converter.ts';
import { jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import type { Context } from '../finding.ts';
import { drivers, listed, localName } from '../words.ts';
import { FREE, NONE, type PlanMove } from './move.ts';
import { cableFrom, cableTo, moduleNamed, withCables, withModule, withSettings } from './replug.ts';
import { firedJack, switchWay, triggerType, typeNow, typeSet } from './trigger-type.ts';

export function triggerMoves(context: Context): readonly PlanMove[] {
  const { modules } = context.patch;
  return [
    ...modules.flatMap((module) => byVoltage(module, context) ?? []),
    ...modules.flatMap((module) => bySwitch(module, context) ?? []),
  ];
}

/** The plugged jacks of a module. */
function plugged({ name, jacks }: PatchModule, { netlist }: Context): readonly string[] {
  return jacks.map((jack) => jack.name).filter((jack) => netlist.at({ module: name, jack }));
}

/**
 * Whether all inputs of a net are triggers of modules that have a setting for their trigger type, and it is
 * this type.
 */
function areAll(net: Net, trigger: string): boolean {
  return (
    net.inputs.length > 0 &&
    net.inputs.every(
      ({ module, jack }) =>
        jack.name === triggerType(module.definition)?.jack && typeNow(module) === trigger,
    )
  );
}

function byVoltage(converter: PatchModule, context: Context): PlanMove | undefined {
  const way = switchWay(converter, context.netlist);
  if (way === undefined) return undefined;
  const { name } = converter;
  const { from, to } = way;
  const [source, net] = [from, to].map(context.netlist.at);
  if (net === undefined || source === undefined) return undefined;
  if (plugged(converter, context).length !== 2 || net.outputs.length !== 1) return undefined;
  if (source.outputs.length !== 1 || !areAll(net, 'switch')) return undefined;
  const envelopes = net.inputs.map(({ module }) => module.name);
  return {
    action: 'trigger-by-voltage',
    text: '',
    costText: undefined,
    cost: FREE,
    modules: [...envelopes, name],
    touches: new Set([name]),
    sets: new Set(envelopes),
    rehits: NONE,
    keeps: NONE,
    hears: NONE,
    frees: new Set([
      converter.definition.kind,
      ...net.inputs.map((one) => one.module.definition.kind),
    ]),
    change(patch) {
      const [into, out] = [cableTo(patch, from), cableFrom(patch, to)];
      if (into === undefined || out === undefined) return undefined;
      const joined = withCables(patch, out, [[into.from, out.to]]);
      const bare = {
        ...joined,
        cables: joined.cables.filter((cable) => cable !== into),
        modules: joined.modules.filter((one) => one.name !== name),
      };
      return net.inputs.reduce<Patch>(
        (now, { module }) => withSettings(now, module.name, typeSet(module, 'voltage')),
        bare,
      );
    },
  };
}

/** What {@link byVoltage} says, once it is known which units the envelopes are: none, where the rack stays short of them. */
export function byVoltageText(
  [...names]: readonly string[],
  units: readonly string[],
  { netlist, patch }: Context,
): string {
  const converter = names.pop() ?? '';
  const module = moduleNamed(patch, converter);
  const way = module && switchWay(module, netlist);
  const source = way && netlist.at(way.from);
  const from = source === undefined ? 'its gate' : drivers(source);
  const takes = names.length === 1 ? 'takes' : 'take';
  const on = units.length === 0 ? 'another envelope' : listed([...new Set(units)]);
  return `play ${listed(names)} on ${on}, which ${takes} voltage triggers: set trigger: voltage, plug ${from} straight into it, and ${converter} is free`;
}

function bySwitch(module: PatchModule, context: Context): PlanMove | undefined {
  const jack = firedJack(module);
  const net = jack && context.netlist.at(jack);
  if (jack === undefined || net === undefined || net.outputs.length !== 1) return undefined;
  if (typeNow(module) !== 'voltage') return undefined;
  if (net.outputs[0]?.jack.facts.type !== 'voltage') return undefined;
  return {
    action: 'trigger-by-switch',
    text: `play ${module.name} on an envelope that a switch fires: set trigger: switch, and lead ${drivers(net)} to it through a trigger-converter`,
    costText: undefined,
    cost: FREE,
    modules: [module.name],
    touches: NONE,
    sets: new Set([module.name]),
    rehits: NONE,
    keeps: NONE,
    hears: NONE,
    frees: new Set([module.definition.kind]),
    change(patch) {
      const cable = patch.cables.find(
        ({ from, to }) => jackName(to) === jackName(jack) || jackName(from) === jackName(jack),
      );
      if (cable === undefined || jackName(cable.to) !== jackName(jack)) return undefined;
      const wanted = `${localName(module.name)}-adapt`;
      const [more, name] = withModule(patch, triggerConverter, wanted, {});
      const led = withCables(more, cable, [
        [cable.from, { module: name, jack: 'voltage-in' }],
        [{ module: name, jack: 'switch-out' }, jack],
      ]);
      return withSettings(led, module.name, typeSet(module, 'switch'));
    },
  };
}
