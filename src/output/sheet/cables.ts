/**
 * The cable list in the order of patching: the control path first, then the sound, then the clock, and
 * in each of them voice by voice.
 */

import type { Sort } from '../../electrical/sorts.ts';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import type { Cable, Patch } from '../../patch/patch.ts';
import { cableName, clockCables, wireSorts } from '../diagram/wires.ts';
import { type ByVoice, byVoice, voiceOfCable, voicesOf } from '../voices.ts';

export interface CableGroup {
  readonly title: string;
  readonly cables: readonly ListedCable[];
  /** The same by voice. */
  readonly voices: readonly ByVoice<ListedCable>[];
}

/** A cable of the list. */
export interface ListedCable extends Cable {
  /** From 1, through all groups. */
  readonly number: number;
  readonly sort: Sort;
}

const SOUND = 1;
const TITLES = ['Control path', 'Sound', 'Clock and reset'] as const;

/** Lists the cables of a patch, each once; groups without a cable are left out. */
export function cableList(of: Patch | Prepared): readonly CableGroup[] {
  const { patch, nets } = prepared(of);
  const sortOf = wireSorts(nets);
  const clocked = clockCables(nets);
  const groups: Cable[][] = [[], [], []];
  for (const cable of patch.cables) {
    const group = clocked.has(cableName(cable)) ? 2 : sortOf(cable) === 'audio' ? 1 : 0;
    groups[group]?.push(cable);
  }
  const all = voicesOf(of);
  let number = 0;
  const listed = (cable: Cable): ListedCable => {
    number += 1;
    return { ...cable, number, sort: sortOf(cable) };
  };
  return groups.flatMap((cables, index) => {
    if (cables.length === 0) return [];
    // What is shared lies before the voices on the way of control, and behind them on the way of sound.
    const voices = byVoice(cables, all, (cable) => voiceOfCable(cable, all), index !== SOUND).map(
      (group) => ({ ...group, items: followed(group.items).map(listed) }),
    );
    const title = TITLES[index] as string;
    return [{ title, cables: voices.flatMap(({ items }) => items), voices }];
  });
}

/**
 * Orders cables as hands follow a signal: on from a module once all that comes into it is plugged. What
 * is left are circles, which start where the file has them first.
 */
function followed(cables: readonly Cable[]): readonly Cable[] {
  const leaving = new Map<string, Cable[]>();
  const missing = new Map<string, number>();
  for (const cable of cables) {
    leaving.set(cable.from.module, [...(leaving.get(cable.from.module) ?? []), cable]);
    missing.set(cable.to.module, (missing.get(cable.to.module) ?? 0) + 1);
  }
  const done = new Set<Cable>();
  const follow = (first: Cable): void => {
    const stack = [first];
    for (let cable = stack.pop(); cable !== undefined; cable = stack.pop()) {
      if (done.has(cable)) continue;
      done.add(cable);
      const { module } = cable.to;
      const left = (missing.get(module) as number) - 1;
      missing.set(module, left);
      if (left > 0) continue;
      for (const next of (leaving.get(module) ?? []).toReversed()) stack.push(next);
    }
  };
  for (const cable of cables) if (!missing.has(cable.from.module)) follow(cable);
  for (const cable of cables) follow(cable);
  return [...done];
}
