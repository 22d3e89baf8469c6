/** More modules than the rack has, and what would free one. */

import { largest } from '../../modules/dsp/extremes.ts';
import type { PatchModule } from '../../patch/patch.ts';
import {
  jackCount,
  lackedBy,
  type Plugs,
  pluggedJacks,
  suits,
  tooFew,
} from '../../patch/rack/assign.ts';
import type { Rack, Unit } from '../../patch/rack/rack.ts';
import { fixedText } from '../../patch/rack/with-rack.ts';
import type { Place } from '../../patch/text/place.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { carriedOut } from '../plan/planned-edits.ts';
import { saidWays, waysOut } from '../plan/ways-out.ts';
import { listed } from '../words.ts';

export const rackShort: Rule = {
  name: 'rack-short',
  headline: ['patch', 'the rack has too few modules'],
  explanation: {
    what: 'The patch needs more modules of a kind than the rack has, or one that none of its units can be.',
    why:
      'A unit is counted once, and only for what it can be: an envelope whose trigger is fixed at ' +
      'switch does not serve a patch that says voltage, nor a converter that goes one way the other, ' +
      'nor a multiple of four jacks five plugs, nor a sequencer of two rows three.',
    sum: 'The largest number of modules that can have a unit each (a maximum matching) against those of the patch.',
    mend:
      'Free one: play a switch-triggered voice on an envelope that takes voltage triggers, and its ' +
      'converter is free; let two inputs that always fire together share one; plug a multiple with ' +
      'two plugs past it.',
  },

  find(context: Context): readonly Finding[] {
    const { patch } = context;
    const { owned } = patch;
    if (owned === undefined) return [];
    const plugs = pluggedJacks(patch.cables);
    const without = patch.modules.filter(({ unit }) => unit === undefined);
    const kinds = [...new Set(without.map(({ definition }) => definition.kind))];
    return [
      ...kinds.map((kind) =>
        missing(
          without.filter(({ definition }) => definition.kind === kind),
          owned,
          plugs,
          context,
        ),
      ),
      ...owned.units.flatMap((unit) => overbooked(unit, context)),
    ];
  },

  /** What costs nothing that is heard is done; what costs something is told. */
  mend: carriedOut,
};

/** The finding for the modules of a kind that no unit is left for. */
function missing(
  modules: readonly PatchModule[],
  rack: Rack,
  plugs: Plugs,
  context: Context,
): Finding {
  const [first] = modules as readonly [PatchModule];
  const { kind } = first.definition;
  const units = rack.units.filter(({ definition }) => definition.kind === kind);
  const owned = units.reduce((sum, { count }) => sum + count, 0);
  const needed = context.patch.modules.filter(({ definition }) => definition.kind === kind).length;
  // Those that could be the first, and the modules that they are wanted for.
  const fitting = units.filter((unit) => suits(first, unit, false, plugs));
  const left = fitting.reduce((sum, { count }) => sum + count, 0);
  const rivals = context.patch.modules.filter(
    ({ unit }) => unit !== undefined && fitting.some(({ name }) => name === unit.name),
  );
  const unfit = modules.filter(
    (module) => !units.some((unit) => suits(module, unit, false, plugs)),
  );
  const names = listed(modules.map(({ name }) => name));
  const what =
    owned === 0
      ? `the rack has no ${kind}`
      : unfit.length > 0
        ? `no ${kind} of the rack can be ${listed(unfit.map(({ name }) => name))} (${reason(unfit[0] as PatchModule, units, plugs)})`
        : left === owned
          ? `the patch needs ${needed} of the kind ${kind} and the rack has ${owned} that fit`
          : `the rack has ${owned} of the kind ${kind}, of which ${left} can be ${first.name}, and ${left === 1 ? 'it is' : 'they are'} taken by ${listed(rivals.map(({ name }) => name))}`;
  const ways = waysOut(kind, context);
  const advice = saidWays(ways, context);
  return {
    rule: rackShort.name,
    severity: 'fault',
    message: `${what}: there is none for ${names}.`,
    fix: advice.length > 0 ? advice.join(' ') : `Do without ${names}, or get another ${kind}.`,
    ways,
    place: (unfit[0] && askedAt(unfit[0], units)) ?? first.place,
    figures: {
      kind,
      neededModules: needed,
      ownedModules: owned,
      shortModules: modules.length,
    },
  };
}

/** Where a module asks for more of something than any unit of its kind has. */
function askedAt(module: PatchModule, units: readonly Unit[]): Place | undefined {
  const shortages = units.map((unit) => tooFew(module, unit));
  return shortages.includes(undefined) ? undefined : shortages[0]?.place;
}

/** Why none of the units can be the module. */
function reason(module: PatchModule, units: readonly Unit[], plugs: Plugs): string {
  if (module.definition.role === 'passive') {
    const most = largest(units.map(jackCount));
    return `it has ${plugs.get(module.name)?.size} plugs, and the largest has ${most} jacks`;
  }
  const clashes = units.map((unit) => {
    const fixed = Object.entries(unit.fixed).filter(
      ([name, value]) =>
        module.settingPlaces.has(name) &&
        JSON.stringify(value) !== JSON.stringify(module.settings[name]),
    );
    if (fixed.length > 0)
      return `${unit.name} is fixed at ${listed(fixed.map(([name]) => `${name} ${fixedText(unit, name)}`))}`;
    const short = tooFew(module, unit);
    if (short !== undefined)
      return `${module.name} asks for ${short.wanted} ${short.what}, and ${unit.name} has ${short.has}`;
    const lacks = lackedBy(unit).filter((jack) => plugs.get(module.name)?.has(jack));
    return `${unit.name} has no ${listed(lacks)}`;
  });
  return listed(clashes);
}

/** A unit that more modules name than there are of it. */
function overbooked(unit: Unit, { patch }: Context): readonly Finding[] {
  const named = patch.modules.filter(
    (module) => module.unit?.place && module.unit.name === unit.name,
  );
  const [surplus] = named.slice(unit.count);
  if (surplus === undefined) return [];
  return [
    {
      rule: rackShort.name,
      severity: 'fault',
      message: `${listed(named.map(({ name }) => name))} are all said to be ${unit.name}, and there ${unit.count === 1 ? 'is one' : `are ${unit.count}`}.`,
      fix: 'Name another unit, or none: then one that fits is taken.',
      place: surplus.unit?.place ?? surplus.place,
      figures: {
        kind: unit.definition.kind,
        neededModules: named.length,
        ownedModules: unit.count,
        shortModules: named.length - unit.count,
      },
    },
  ];
}
