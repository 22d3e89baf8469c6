/** A jack by the name that the page has for it. */

import type { JackRef, Patch } from '../../patch/patch.ts';

/** @param name `module.jack`. @returns undefined if the patch has none of that name. */
export function jackIn(patch: Patch, name: string): JackRef | undefined {
  for (const { name: module, jacks } of patch.modules)
    for (const { name: jack } of jacks) if (`${module}.${jack}` === name) return { module, jack };
  return undefined;
}
