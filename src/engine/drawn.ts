/** Settings that a patch leaves to its seed, for all that shows them. */

import { seedsFor } from '../modules/dsp/seeds.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';

/** The module with what the seed decides in place of settings that its file does not give. */
export function asDrawn(module: PatchModule, { seed }: Pick<Patch, 'seed'>): PatchModule {
  const { name, definition, settings, settingPlaces } = module;
  const drawn = definition.draws?.(settings, (purpose) => {
    const [a = 0, b = 0, c = 0, d = 0] = seedsFor(seed, name, purpose);
    return [a, b, c, d];
  });
  if (drawn === undefined) return module;
  const open = Object.entries(drawn).filter(([setting]) => !settingPlaces.has(setting));
  return { ...module, settings: { ...settings, ...Object.fromEntries(open) } };
}
