/** How findings speak: numbers with their units, names of jacks, and the places they point at. */

import type { TriggerLevels } from '../electrical/levels.ts';
import type { Net } from '../electrical/nets.ts';
import { type Cable, type JackRef, jackName, type Patch } from '../patch/patch.ts';
import type { Place } from '../patch/text/place.ts';
import { formatBriefly } from '../patch/units.ts';

/** V or percent under which a number is what is left of a sum. */
const NOTHING = 1e-6;
/** Digits of a number in a machine; beyond these no two numbers differ. */
const MOST_DIGITS = 17;

/** Volts to the millivolt, from 10 V to four digits: `2.488 V`. @param more digits. */
export function inVolts(value: number, more = 0): string {
  return `${rounded(value, 3, more)} V`;
}

/** @param more digits than four. */
export function inOhms(value: number, more = 0): string {
  return formatBriefly(value, 'resistance', 4 + more);
}

/**
 * Two numbers that a sentence compares, with as many digits as it takes to tell them apart:
 * `5.0003 V` and `5 V`.
 * @param as writes a number with so many more digits than usual.
 */
export function distinct(
  one: number,
  other: number,
  as: (value: number, more: number) => string,
): readonly [string, string] {
  for (let more = 0; ; more++) {
    const texts = [as(one, more), as(other, more)] as const;
    if (texts[0] !== texts[1] || one === other || more === MOST_DIGITS) return texts;
  }
}

/** A current, from ampere to the nearest unit: `2.5 mA`. */
export function inAmperes(value: number): string {
  const size = Math.abs(value);
  const [scale, unit] = size >= 1 ? [1, 'A'] : size >= 1e-3 ? [1e3, 'mA'] : [1e6, 'uA'];
  return `${Number((value * scale).toPrecision(3))} ${unit}`;
}

/** A share as a percentage: `18.8 %`. @param more digits. */
export function inPercent(share: number, more = 0): string {
  return `${rounded(100 * share, 1, more)} %`;
}

/** V; nobody sets or measures a level more finely, so that one this near to a threshold may fire or not. */
const AT_LIMIT = 1e-4;

/** Whether a margin is nothing that a person could tell. */
export function isAtLimit(margin: number): boolean {
  return Math.abs(margin) < AT_LIMIT;
}

/** What a level has over a threshold, and what comes of that: `-0.4 V (-16 %), never fires`. */
export function inMargin({ margin, share }: Pick<TriggerLevels, 'margin' | 'share'>): string {
  if (isAtLimit(margin)) return 'right at the limit, may not fire';
  return `${inVolts(margin)} (${inPercent(share)})${margin < 0 ? ', never fires' : ''}`;
}

/** At which corner something fails: by the tolerance asked for, or by those that the rack states. */
export function atWorst(tolerance: number): string {
  return tolerance > 0
    ? `with everything ${inPercent(tolerance)} off`
    : 'at the worst of the tolerances that the rack states';
}

/** A number that would round to zero gets two digits, so that a margin that is just missed does not read as met. */
function rounded(value: number, digits: number, more = 0): number {
  const whole = Number(Number(value.toFixed(digits + more)).toPrecision(4 + more));
  if (whole !== 0) return whole;
  return Math.abs(value) < NOTHING ? 0 : Number(value.toPrecision(2 + more));
}

/** As a sentence begins. */
export function capitalised(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
}

/** `a`, `a and b`, `a, b and c`; from nine on the rest are counted. */
export function listed(names: readonly string[]): string {
  const shown = names.length > 8 ? [...names.slice(0, 7), `${names.length - 7} more`] : names;
  const last = shown.at(-1) ?? '';
  return shown.length < 2 ? last : `${shown.slice(0, -1).join(', ')} and ${last}`;
}

/** What drives a net, by name. */
export function drivers(net: Net): string {
  return listed(net.outputs.map(({ module, jack }) => `${module.name}.${jack.name}`));
}

/** The wire that a net is, as the cause of findings: the outputs that drive it. */
export function wire(net: Net): string {
  return net.outputs.map(({ module, jack }) => `${module.name}.${jack.name}`).join(' + ');
}

/** The cable that ends at a jack, or else any of its net's. */
export function cableInto(net: Net, ref: JackRef): Cable | undefined {
  const name = jackName(ref);
  return net.cables.find(({ to }) => jackName(to) === name) ?? cableAt(net, ref) ?? net.cables[0];
}

/** A cable with an end at a jack. */
export function cableAt(net: Net, ref: JackRef): Cable | undefined {
  const name = jackName(ref);
  return net.cables.find(({ from, to }) => jackName(from) === name || jackName(to) === name);
}

/** Where to point for a jack: its cable, or its module. */
export function placeAtJack(net: Net | undefined, ref: JackRef, patch: Patch): Place {
  const cable = net && cableInto(net, ref);
  if (cable !== undefined) return cable.place;
  const module = patch.modules.find(({ name }) => name === ref.module);
  return module?.place ?? { file: patch.file, line: 1, column: 1, length: 1 };
}

/** A name for a module to be added, that no module and no part of the patch has. */
export function freshName(wanted: string, patch: Patch): string {
  // A plan asks for many: what does not have the words at all is not taken apart.
  const isUsed = (word: string): boolean =>
    patch.modules.some(({ name }) => name.includes(word) && name.split('.').includes(word));
  const base = wanted.slice(0, 36);
  for (let count = 1; ; count++) {
    const name = count === 1 ? base : `${base}-${count}`;
    if (!isUsed(name)) return name;
  }
}

/** The name that a module has in its own file. */
export function localName(name: string): string {
  return name.slice(name.lastIndexOf('.') + 1);
}
