/**
 * A voice by itself, or all but it: the cables from the other voices, or from it, to the shared modules are
 * pulled. The shared modules then sound as they do in the mix, and what one voice does to another stays.
 */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import type { Cable, Patch } from '../../patch/patch.ts';
import { soundInputs, type Voices, voicesOf } from '../voices.ts';

/** One voice, alone or left out. */
export interface Solo {
  readonly voice: string;
  readonly isAlone: boolean;
}

/** @returns the patch itself where it has no such voice. */
export function soloed(of: Patch | Prepared, solo: Solo | undefined): Patch {
  const { patch } = prepared(of);
  const all = voicesOf(of);
  if (solo === undefined || !all.voices.some(({ name }) => name === solo.voice)) return patch;
  const isPulled = (cable: Cable): boolean =>
    (all.of(cable.from.module)?.name === solo.voice) !== solo.isAlone;
  const sends = new Set(sendsOf(patch, all));
  return { ...patch, cables: patch.cables.filter((one) => !(sends.has(one) && isPulled(one))) };
}

/** The cables by which voices go to what is shared. */
export function sendsOf(patch: Patch, voices: Voices): readonly Cable[] {
  const modules = new Map(patch.modules.map((module) => [module.name, module]));
  return patch.cables.filter(({ from, to }) => {
    const reader = modules.get(to.module);
    if (reader === undefined || voices.of(from.module) === undefined) return false;
    if (voices.of(to.module) !== undefined) return false;
    return reader.definition.role === 'passive' || soundInputs(reader).includes(to.jack);
  });
}
