/** What a rack lacks for a patch, by kind. */

import type { Patch } from '../../patch/patch.ts';
import { assign } from '../../patch/rack/assign.ts';
import type { Rack } from '../../patch/rack/rack.ts';

/** Stands among the kinds for the cables. */
export const CABLES = 'cable';

/** How many are lacking, by kind of module; what is not lacking is not in it. */
export type Shortage = ReadonlyMap<string, number>;

/** Counts what a rack lacks for a patch that is off it. */
export function shortageOf({ modules, cables }: Patch, rack: Rack): Shortage {
  const lacking = new Map<string, number>();
  const add = (kind: string, count: number): void => {
    if (count > 0) lacking.set(kind, (lacking.get(kind) ?? 0) + count);
  };
  const units = assign(modules, cables, rack);
  for (const { name, definition } of modules) if (!units.has(name)) add(definition.kind, 1);
  for (const { name, count, definition } of rack.units) {
    const named = modules.filter(({ unit }) => unit?.name === name).length;
    add(definition.kind, named - count);
  }
  if (rack.cables !== undefined) add(CABLES, cables.length - rack.cables);
  return lacking;
}

/** How many are lacking in all. */
export function total(shortage: Shortage): number {
  let sum = 0;
  for (const count of shortage.values()) sum += count;
  return sum;
}
