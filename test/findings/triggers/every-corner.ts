/** What is told of what a rack states in doubt, against what is told of every corner of it, each as if it were certain. */

import { expect } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import type { Rule } from '../../../src/findings/finding.ts';
import type { Patch } from '../../../src/patch/patch.ts';

/** Facts of jacks by name, as a rack has them. */
export type Facts<Name extends string> = Readonly<Record<Name, string>>;

/** How often a rule finds something at some corner that it does not find nominally, and how often at none. */
export type Told = Map<string, { perhaps: number; never: number }>;

export function countOf(rules: readonly Rule[]): Told {
  return new Map(rules.map(({ name }) => [name, { perhaps: 0, never: 0 }]));
}

/** Looks that every rule has found both, so that the comparison says something. */
export function expectBoth(told: Told): void {
  for (const [name, sum] of told)
    expect([name, Math.min(sum.perhaps, sum.never) > 0]).toEqual([name, true]);
}

/**
 * Looks that what is told of stated doubts is what some corner of them all has, and counts how often it is so.
 * @param shares by which each value may be off; 0 for one that is certain.
 * @param units of the values; V unless given.
 */
export function holds<Name extends string>(
  names: readonly Name[],
  values: Readonly<Record<Name, number>>,
  shares: Readonly<Record<Name, number>>,
  patch: (facts: Facts<Name>) => Patch,
  told: Told,
  rules: readonly Rule[],
  units: Readonly<Record<string, string>> = {},
): void {
  const finderIn = (write: (name: Name) => string): ((rule: Rule) => boolean) => {
    const facts = Object.fromEntries(names.map((name) => [name, write(name)]));
    const context = contextOf(patch(facts as Facts<Name>));
    return ({ find }) => find(context).length > 0;
  };
  const said = (name: Name, value: number): string =>
    `${value.toFixed(6).replace(/\.?0+$/, '')} ${units[name] ?? 'V'}`;
  const off = names.filter((name) => shares[name] > 0);
  const nominal = rules.map(finderIn((name) => said(name, values[name])));
  const stated = rules.map(
    finderIn(
      (name) => said(name, values[name]) + (shares[name] > 0 ? ` +- ${100 * shares[name]} %` : ''),
    ),
  );
  // What one corner has need not be looked for at the others. Without doubts the only corner is the nominal one.
  const atSome = [...nominal];
  const last = off.length === 0 ? 0 : 2 ** off.length;
  for (let bits = 0; bits < last && atSome.includes(false); bits++) {
    const isFound = finderIn((name) => {
      const i = off.indexOf(name);
      const sign = i < 0 ? 0 : (bits >> i) & 1 ? 1 : -1;
      return said(name, values[name] * (1 + sign * shares[name]));
    });
    rules.forEach((rule, i) => {
      atSome[i] ||= isFound(rule);
    });
  }
  expect(rules.map(({ name }, i) => [name, stated[i]])).toEqual(
    rules.map(({ name }, i) => [name, atSome[i]]),
  );
  rules.forEach(({ name }, i) => {
    const sum = told.get(name) as { perhaps: number; never: number };
    if (atSome[i] && !nominal[i]) sum.perhaps += 1;
    if (!atSome[i]) sum.never += 1;
  });
}
