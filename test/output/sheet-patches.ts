/** Patches for tests of sheets: the examples with their parts, and one whose every text is hostile. */

import type { Patch } from '../../src/patch/patch.ts';
import { shipped, example as shippedPatch } from '../patch-of.ts';

const RACK = 'racks/teaching-cabinet.yaml';

/** An example patch; `onRack` puts it on the teaching cabinet. */
export function example(name: string, onRack = false, set: readonly string[] = []): Patch {
  return shippedPatch(`${name}.yaml`, {
    set,
    ...(onRack && { rack: { file: RACK, text: shipped(RACK) } }),
  });
}

/** Runs if any of it is taken for markup: in an element, in an attribute, in a script, in a style. */
export const HOSTILE =
  '</title></style></script><script>hit=1</script><img src=x onerror="hit=1">\' " onload=hit=1 --> ]]> & <svg onload=hit=1>';

/**
 * The closed hat with hostile text wherever a patch has any. The reader refuses such names of modules
 * and jacks; a sheet must not rely on that.
 */
export function hostilePatch(): Patch {
  const patch = example('closed-hat', true);
  const bad = (name: string): string => `${name}${HOSTILE}`;
  return {
    ...patch,
    file: bad(patch.file),
    title: bad(patch.title),
    about: bad(patch.about),
    seed: bad(patch.seed),
    ...(patch.owned && { owned: { ...patch.owned, title: bad(patch.owned.title) } }),
    modules: patch.modules.map((module) => ({
      ...module,
      name: bad(module.name),
      place: { ...module.place, file: bad('part') },
      ...(module.unit && { unit: { name: bad(module.unit.name) } }),
      settings: hostileScore(module.settings),
    })),
    // The last cable is missing, so that there is something to find.
    cables: patch.cables.slice(0, -1).map((cable) => ({
      ...cable,
      from: { ...cable.from, module: bad(cable.from.module) },
      to: { ...cable.to, module: bad(cable.to.module) },
    })),
  };
}

function hostileScore(settings: Patch['modules'][number]['settings']): typeof settings {
  const { patterns } = settings;
  if (!Array.isArray(patterns)) return settings;
  return {
    ...settings,
    patterns: patterns.map((pattern: { name: string }) => ({
      ...pattern,
      name: `${pattern.name}${HOSTILE}`,
    })),
  };
}
