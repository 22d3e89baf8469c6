/**
 * Which module of a patch is which unit of the rack: as many as possible get one (a maximum matching,
 * by augmenting paths), those that the patch names first.
 *
 * Source: augmenting paths: Kuhn, "The Hungarian Method for the Assignment Problem" (1955), and
 * Berge's theorem (from memory).
 */

import type { Cable, PatchModule } from '../patch.ts';
import type { Place } from '../text/place.ts';
import { jacksWith, type Rack, type Unit } from './rack.ts';

/**
 * Assigns units to modules.
 * @param modules whose named units exist in the rack and are of their kind.
 * @returns by module name; a module that no unit is left for is not in it. A module that names its
 *   unit always has it, even if too many do.
 */
export function assign(
  modules: readonly PatchModule[],
  cables: readonly Cable[],
  rack: Rack,
): ReadonlyMap<string, Unit> {
  const assigned = new Map<string, Unit>();
  const left = new Map(rack.units.map((unit) => [unit, unit.count]));
  for (const module of modules) {
    const unit = rack.units.find(({ name }) => module.unit && name === module.unit.name);
    if (unit === undefined) continue;
    assigned.set(module.name, unit);
    left.set(unit, Math.max(0, (left.get(unit) ?? 0) - 1));
  }
  const plugs = pluggedJacks(cables);
  const kinds = new Set(rack.units.map(({ definition }) => definition.kind));
  for (const kind of kinds) {
    const units = rack.units.filter(({ definition }) => definition.kind === kind).sort(bySize);
    // In the order of their names, so that the order of the file does not matter.
    const open = modules
      .filter(({ name, definition }) => definition.kind === kind && !assigned.has(name))
      .sort((a, b) => (a.name < b.name ? -1 : 1));
    const matching = new Matching(units, left);
    // First those that are as the patch says, then those that its defaults must give way to.
    for (const strict of [true, false])
      for (const module of open) {
        if (matching.has(module)) continue;
        matching.add(module, (one, unit) => suits(one, unit, strict, plugs));
      }
    for (const [module, unit] of matching.pairs) assigned.set(module.name, unit);
  }
  return assigned;
}

/** Whether a unit can be what the module is, at least where the patch says nothing. */
export function suits(module: PatchModule, unit: Unit, strict: boolean, plugs: Plugs): boolean {
  if (module.definition.kind !== unit.definition.kind) return false;
  const plugged = plugs.get(module.name);
  if (module.definition.role === 'passive') return (plugged?.size ?? 0) <= jackCount(unit);
  if (tooFew(module, unit) !== undefined) return false;
  if (plugged !== undefined && lackedBy(unit).some((jack) => plugged.has(jack))) return false;
  return Object.entries(unit.fixed).every(
    ([name, value]) =>
      JSON.stringify(value) === JSON.stringify(module.settings[name]) ||
      (!strict && !module.settingPlaces.has(name)),
  );
}

/** Something that a module asks more of than a unit has. */
export interface SizeShortage {
  readonly what: string;
  readonly wanted: number;
  readonly has: number;
  /** Where the module asks for them. */
  readonly place: Place;
}

/** The first thing that a module asks more of than a unit has; undefined if there is none. */
export function tooFew(
  { definition, settings, settingPlaces, place }: PatchModule,
  unit: Unit,
): SizeShortage | undefined {
  for (const [what, has] of unit.has) {
    const size = definition.sizes?.[what];
    const wanted = size?.of(settings) ?? 0;
    if (size === undefined || wanted <= has) continue;
    const from = size.from.flatMap((name) => settingPlaces.get(name) ?? []);
    return { what, wanted, has, place: from[0] ?? place };
  }
  return undefined;
}

/** The jacks with a plug, by module; a module without any is not in it. */
export type Plugs = ReadonlyMap<string, ReadonlySet<string>>;

export function pluggedJacks(cables: readonly Cable[]): Plugs {
  const plugs = new Map<string, Set<string>>();
  for (const { module, jack } of cables.flatMap(({ from, to }) => [from, to])) {
    const jacks = plugs.get(module) ?? new Set();
    plugs.set(module, jacks.add(jack));
  }
  return plugs;
}

const lacked = new WeakMap<Unit, readonly string[]>();

/** Jacks of the kind that the unit lacks because of what is fixed on it. */
export function lackedBy(unit: Unit): readonly string[] {
  const known = lacked.get(unit);
  if (known !== undefined) return known;
  const { definition, fixed } = unit;
  const there = new Set(jacksWith(definition, fixed).map(({ name }) => name));
  const lacks = jacksWith(definition, {})
    .map(({ name }) => name)
    .filter((name) => !there.has(name));
  lacked.set(unit, lacks);
  return lacks;
}

/** Jacks of a passive unit. */
export function jackCount({ definition, fixed }: Unit): number {
  return jacksWith(definition, fixed).length;
}

function bySize(a: Unit, b: Unit): number {
  return a.definition.role === 'passive' ? jackCount(a) - jackCount(b) : 0;
}

/** Modules of one kind and the units that they have, as it grows. */
class Matching {
  readonly pairs = new Map<PatchModule, Unit>();
  private readonly holders = new Map<Unit, Set<PatchModule>>();
  private readonly units: readonly Unit[];
  private readonly left: ReadonlyMap<Unit, number>;

  constructor(units: readonly Unit[], left: ReadonlyMap<Unit, number>) {
    this.units = units;
    this.left = left;
    for (const unit of units) this.holders.set(unit, new Set());
  }

  has(module: PatchModule): boolean {
    return this.pairs.has(module);
  }

  /** Finds the module a unit, others changing theirs if need be; without one, nothing changes. */
  add(module: PatchModule, suits: (module: PatchModule, unit: Unit) => boolean): void {
    this.seek(module, suits, new Set());
  }

  private seek(
    module: PatchModule,
    suits: (module: PatchModule, unit: Unit) => boolean,
    seen: Set<Unit>,
  ): boolean {
    for (const unit of this.units) {
      if (seen.has(unit) || !suits(module, unit)) continue;
      seen.add(unit);
      const holders = this.holders.get(unit) as Set<PatchModule>;
      if (holders.size < (this.left.get(unit) ?? 0)) {
        this.give(module, unit);
        return true;
      }
      for (const holder of holders) {
        if (!this.seek(holder, suits, seen)) continue;
        holders.delete(holder);
        this.give(module, unit);
        return true;
      }
    }
    return false;
  }

  private give(module: PatchModule, unit: Unit): void {
    this.holders.get(unit)?.add(module);
    this.pairs.set(module, unit);
  }
}
