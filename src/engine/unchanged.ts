/** Which modules of two patches give the same volts, sample for sample. */

import type { Net } from '../electrical/nets.ts';
import { nodeLaw } from '../electrical/node-law.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { type Prepared, prepared } from './prepared.ts';

/**
 * Finds the modules that give the same in both patches: themselves the same, on wires that are the
 * same, driven by modules that are the same. None if the seeds differ.
 * @returns names of running modules, and of none on a net that a changed one drives.
 */
export function unchanged(one: Patch | Prepared, other: Patch | Prepared): ReadonlySet<string> {
  const { patch: before, nets: wiresBefore } = prepared(one);
  const { patch: after, nets: wires } = prepared(other);
  if (before.seed !== after.seed) return new Set();
  const earlier = new Map(before.modules.map((module) => [module.name, module]));
  const lawBefore = remembered(lawText);
  const lawAfter = remembered(lawText);
  const differs = (module: PatchModule): boolean => {
    const other = earlier.get(module.name);
    if (other === undefined || !same(module, other)) return true;
    return module.jacks.some((jack) => {
      const ref = { module: module.name, jack: jack.name };
      const [net, was] = [wires.at(ref), wiresBefore.at(ref)];
      if (net === undefined || was === undefined) return net !== was;
      return jack.direction === 'in' && lawAfter(net) !== lawBefore(was);
    });
  };
  const changed = new Set(after.modules.filter(differs).map(({ name }) => name));
  // What a changed module drives is changed; what shares a net with it is played with it.
  for (let size = -1; size !== changed.size; ) {
    size = changed.size;
    for (const { inputs, outputs } of wires.nets) {
      if (!outputs.some(({ module }) => changed.has(module.name))) continue;
      for (const { module } of [...inputs, ...outputs]) changed.add(module.name);
    }
  }
  return new Set(
    after.modules
      .filter(({ name, definition }) => definition.create !== undefined && !changed.has(name))
      .map(({ name }) => name),
  );
}

function same(a: PatchModule, b: PatchModule): boolean {
  return a === b || (a.definition === b.definition && textOf(a) === textOf(b));
}

/** Modules are compared with the next change too. */
const texts = new WeakMap<PatchModule, string>();

function textOf(module: PatchModule): string {
  const text = texts.get(module) ?? JSON.stringify([module.settings, module.jacks]);
  texts.set(module, text);
  return text;
}

function lawText(net: Net): string {
  const outputs = net.outputs.map(({ module, jack }) => `${module.name}.${jack.name}`);
  return JSON.stringify([outputs, nodeLaw(net)]);
}

function remembered(work: (net: Net) => string): (net: Net) => string {
  const known = new Map<Net, string>();
  return (net) => {
    const text = known.get(net) ?? work(net);
    known.set(net, text);
    return text;
  };
}
