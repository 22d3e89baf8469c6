/** What a knob cannot be turned to: values outside those that its rack has measured on its dial. */

import type { Patch, PatchModule } from '../../patch/patch.ts';
import { type DialTable, positionOf } from '../../patch/rack/dial.ts';
import type { Unit } from '../../patch/rack/rack.ts';
import { BRIEF_DIGITS, formatValue } from '../../patch/units.ts';
import { distinct } from '../words.ts';

/** The unit of the rack that a module is. */
export function unitOf({ unit }: PatchModule, { owned }: Patch): Unit | undefined {
  return owned?.units.find(({ name }) => name === unit?.name);
}

/** The values that a dial goes between, in the unit of its quantity. */
export function rangeOf({ points }: DialTable): { readonly low: number; readonly high: number } {
  const [first, last] = [points[0]?.value ?? 0, points.at(-1)?.value ?? 0];
  return { low: Math.min(first, last), high: Math.max(first, last) };
}

/** `the dial for level of drums goes from 0 V to 5 V (own.yaml:3), and 6.5 V is wanted`. */
export function pastTheEnd(
  module: PatchModule,
  setting: string,
  { name, dials, place }: Unit,
  wanted: number,
): string {
  const table = dials.get(setting) as DialTable;
  const { low, high } = rangeOf(table);
  const asWritten = (one: number, more: number): string =>
    formatValue(Number(one.toPrecision(BRIEF_DIGITS + more)), table.quantity);
  const [value, end] = distinct(wanted, wanted > high ? high : low, asWritten);
  const [from, to] = wanted > high ? [asWritten(low, 0), end] : [end, asWritten(high, 0)];
  const whose = name === module.name ? name : `${name}, which ${module.name} is,`;
  return `the dial for ${setting} of ${whose} goes from ${from} to ${to} (${place.file}:${place.line}), and ${value} is wanted`;
}

/**
 * Why the knobs of a patch cannot be turned as a change has them.
 * @returns undefined if they can, or could not be turned so before.
 */
export function whyOffTheDial(before: Patch, after: Patch): string | undefined {
  const known = new Map(before.modules.map((module) => [module.name, module]));
  for (const module of after.modules) {
    const unit = unitOf(module, after);
    const was = known.get(module.name);
    for (const [setting, table] of unit?.dials ?? []) {
      const value = module.settings[setting];
      const isAsBefore = was?.unit?.name === unit?.name && was?.settings[setting] === value;
      if (unit === undefined || typeof value !== 'number' || isAsBefore) continue;
      if (positionOf(table, value) === undefined) return pastTheEnd(module, setting, unit, value);
    }
  }
  return undefined;
}
