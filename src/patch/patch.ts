/** A patch once read and checked: what every other part of Forehear works on. */

import type { AnyValues, Definition, Jack } from '../modules/definition.ts';
import type { Rack } from './rack/rack.ts';
import type { Place } from './text/place.ts';
import type { WrittenModule } from './words.ts';

/** A patch, read and checked. It is never changed: what changes it gives another. */
export interface Patch {
  /** Name of the file, or `-` for standard input. */
  readonly file: string;
  readonly title: string;
  readonly about: string;
  /** Any text; with a module's name it decides every random thing in the patch. */
  readonly seed: string;
  /** The file of what the owner has, its path from where `file` is named. */
  readonly rack?: { readonly path: string; readonly place: Place };
  /** What the owner has, once read: what was measured of it is in the modules' jacks and settings. */
  readonly owned?: Rack;
  /** In the order of the file; a part's modules are named `part.module`. */
  readonly modules: readonly PatchModule[];
  /** In the order of the file, a part's own cables where the part stands. */
  readonly cables: readonly Cable[];
}

/** One module of a patch. */
export interface PatchModule {
  readonly name: string;
  readonly definition: Definition;
  /** Every setting the kind has, defaults filled in, in the units of `Quantity`. */
  readonly settings: AnyValues;
  /** The jacks that these settings give it. */
  readonly jacks: readonly Jack[];
  readonly place: Place;
  /** Where each setting that the file gives was written. */
  readonly settingPlaces: ReadonlyMap<string, Place>;
  /** The words in which files give it; absent where none does. */
  readonly written?: WrittenModule;
  /** The unit of the rack that it is: the one that the file names, or one that fits. */
  readonly unit?: { readonly name: string; readonly place?: Place };
  /** Settings that the file gives as the position of a dial; the rack says what these stand for. */
  readonly dials?: ReadonlyMap<string, Dial>;
}

export interface Dial {
  readonly position: number;
  readonly place: Place;
}

/** One jack of a patch, by the names of its module and of the jack. */
export interface JackRef {
  readonly module: string;
  readonly jack: string;
}

/** One cable, from an output to an input, or to or from a multiple. */
export interface Cable {
  readonly from: JackRef;
  readonly to: JackRef;
  readonly place: Place;
}

/** `module.jack`, as the file writes it. */
export function jackName(ref: JackRef): string {
  return `${ref.module}.${ref.jack}`;
}

/** A jack by its {@link jackName}; undefined if the patch has none of that name. */
export function jackNamed(patch: Patch, name: string): JackRef | undefined {
  for (const { name: module, jacks } of patch.modules)
    for (const { name: jack } of jacks) if (`${module}.${jack}` === name) return { module, jack };
  return undefined;
}
