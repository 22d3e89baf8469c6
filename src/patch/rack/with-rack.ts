/**
 * A patch on a rack: each module becomes one of the units that its owner has, with the settings that
 * are fixed on it, the values that its dials stand for and the facts measured at its jacks. All that
 * computes with the patch then computes with these.
 */

import type { AnyValues } from '../../modules/definition.ts';
import type { Dial, Patch, PatchModule } from '../patch.ts';
import { quoted, type Report } from '../text/report.ts';
import { assign, tooFew } from './assign.ts';
import { type DialTable, valueAt } from './dial.ts';
import { contradictionAt, measuredJack } from './jacks.ts';
import type { Rack, Unit } from './rack.ts';

/**
 * Puts a rack into a patch. A module that no unit is left for stays as it is.
 * @param report gets what does not go together: a unit that is not there or of another kind, a
 *   setting that is fixed on it, a dial that has no table or no such position.
 */
export function ontoRack(patch: Patch, rack: Rack, report: Report): Patch {
  const named = patch.modules.map((module) => checkedUnit(module, rack, report));
  const units = assign(named, patch.cables, rack);
  const plugged = new Set(
    patch.cables
      .flatMap(({ from, to }) => [from, to])
      .map(({ module, jack }) => `${module}.${jack}`),
  );
  return {
    ...patch,
    owned: rack,
    modules: named.map((module) => onUnit(module, units.get(module.name), rack, plugged, report)),
  };
}

/** Reports the dials of a patch that has no rack to say what they stand for. */
export function reportDials(patch: Patch, report: Report): void {
  for (const { dials } of patch.modules)
    for (const { place } of dials?.values() ?? [])
      report.add('missing', place, 'no rack says what this position of the dial stands for', {
        expected: 'a value with its unit, or a rack with a dial table',
      });
}

/** The module without the unit it names, if that is wrong. */
function checkedUnit(module: PatchModule, rack: Rack, report: Report): PatchModule {
  const { unit, definition, settings, settingPlaces } = module;
  if (unit?.place === undefined) return module;
  const { unit: _, ...plain } = module;
  const found = rack.units.find(({ name }) => name === unit.name);
  if (found === undefined) {
    const same = rack.units.filter((one) => one.definition.kind === definition.kind);
    const names = (same.length > 0 ? same : rack.units).map(({ name }) => name);
    report.unknown(
      'unknown-name',
      unit.place,
      `the rack has no unit ${quoted(unit.name)}`,
      unit.name,
      names,
    );
    return plain;
  }
  if (found.definition.kind !== definition.kind) {
    const message = `the unit ${quoted(unit.name)} is of the kind ${quoted(found.definition.kind)}, not ${quoted(definition.kind)}`;
    report.add('wrong-type', unit.place, message);
    return plain;
  }
  if (definition.role === 'passive') return module;
  let fits = true;
  const short = tooFew(module, found);
  if (short !== undefined) {
    fits = false;
    const { what, wanted, has, place } = short;
    report.add('range', place, `${quoted(module.name)} has ${wanted} ${what}`, {
      expected: `at most ${has}, which is what the unit ${quoted(unit.name)} has`,
    });
  }
  for (const [name, value] of Object.entries(found.fixed)) {
    const place = settingPlaces.get(name);
    if (place === undefined || same(value, settings[name])) continue;
    fits = false;
    report.add('wrong-type', place, `${quoted(name)} is fixed on the unit ${quoted(unit.name)}`, {
      expected: fixedText(found, name),
    });
  }
  return fits ? module : plain;
}

function same(a: unknown, b: unknown): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

/** What a unit fixes a setting at, as the rack writes it. */
export function fixedText({ fixed, fixedWords }: Unit, name: string): string {
  return fixedWords.get(name) ?? String(fixed[name]);
}

function onUnit(
  module: PatchModule,
  unit: Unit | undefined,
  rack: Rack,
  plugged: ReadonlySet<string>,
  report: Report,
): PatchModule {
  const { definition } = module;
  const dialled = dialledSettings(module, unit, rack, report);
  if (unit === undefined) {
    if (Object.keys(dialled).length === 0) return module;
    const settings = { ...module.settings, ...dialled };
    return { ...module, settings, jacks: definition.jacks(settings) };
  }
  const passive = definition.role === 'passive';
  const fixed = Object.entries(unit.fixed).filter(([name]) => !module.settingPlaces.has(name));
  const settings: AnyValues = {
    ...module.settings,
    ...(passive ? {} : Object.fromEntries(fixed)),
    ...dialled,
  };
  const jacks = definition.jacks(settings).map((jack) => measuredJack(jack, unit.jacks));
  for (const { name } of module.jacks)
    if (plugged.has(`${module.name}.${name}`) && !jacks.some((jack) => jack.name === name))
      report.add(
        'unknown-jack',
        module.place,
        `the unit ${quoted(unit.name)} has no jack ${quoted(name)}`,
      );
  for (const jack of jacks) {
    const wrong = contradictionAt(jack);
    if (wrong === undefined) continue;
    const measured = unit.jacks.get(jack.name)?.place ?? unit.place;
    report.add('range', measured, `${quoted(jack.name)} contradicts itself: ${wrong}`);
  }
  const words = passive ? [] : fixed.map(([name]) => [name, fixedText(unit, name)] as const);
  return {
    ...module,
    settings,
    jacks,
    ...(module.written && {
      written: {
        ...module.written,
        settings: new Map([...module.written.settings, ...words]),
      },
    }),
    unit: { name: unit.name, ...(module.unit?.place && { place: module.unit.place }) },
  };
}

/** The values of the settings that the patch gives as dials. */
function dialledSettings(
  module: PatchModule,
  unit: Unit | undefined,
  rack: Rack,
  report: Report,
): AnyValues {
  const values: { [name: string]: unknown } = {};
  for (const [name, dial] of module.dials ?? []) {
    const like = rack.units.filter(({ definition }) => definition.kind === module.definition.kind);
    // A module that there is no unit for is set like the ones that there are.
    const tables = (unit === undefined ? like : [unit]).map(({ dials }) => dials.get(name));
    const table = tables.find((one) => one !== undefined);
    if (table === undefined) {
      const whose = unit === undefined ? 'the rack' : `the unit ${quoted(unit.name)}`;
      report.add('missing', dial.place, `${whose} has no dial table for ${quoted(name)}`, {
        expected: 'a value with its unit',
      });
      continue;
    }
    const value = valueAt(table, dial.position);
    if (value === undefined) reportPosition(dial, table, report);
    else values[name] = value;
  }
  return values;
}

function reportPosition(dial: Dial, { points }: DialTable, report: Report): void {
  const [first, last] = [points[0], points.at(-1)];
  report.add('range', dial.place, `the dial does not go to ${dial.position}`, {
    expected: `a position from ${first?.position} to ${last?.position}`,
  });
}
