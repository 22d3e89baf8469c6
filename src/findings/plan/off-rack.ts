/** A patch as it is without its rack, so that it can be put onto the same rack in another way. */

import type { Patch, PatchModule } from '../../patch/patch.ts';
import type { Rack } from '../../patch/rack/rack.ts';

/** Takes the units that no file names out of a patch, and with them what is fixed on them. */
export function offRack(patch: Patch, rack: Rack): Patch {
  return { ...patch, modules: patch.modules.map((module) => withoutUnit(module, rack)) };
}

function withoutUnit(module: PatchModule, rack: Rack): PatchModule {
  const { unit, definition, settingPlaces } = module;
  const found = rack.units.find(({ name }) => name === unit?.name);
  if (unit === undefined || found === undefined) return module;
  const usual = Object.keys(found.fixed).flatMap((name): [string, unknown][] => {
    const spec = definition.settings[name];
    const isOwn = settingPlaces.has(name) || spec === undefined || !('fallback' in spec);
    return isOwn ? [] : [[name, spec.fallback]];
  });
  const settings =
    definition.role === 'passive'
      ? module.settings
      : { ...module.settings, ...Object.fromEntries(usual) };
  const { unit: _, ...plain } = module;
  return {
    ...plain,
    settings,
    jacks: definition.jacks(settings),
    ...(unit.place !== undefined && { unit }),
  };
}
