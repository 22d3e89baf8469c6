/** A rack by itself, with what is wrong handed back: for callers that read one apart from a patch. */

import type { Definition } from '../../modules/definition.ts';
import type { Patch } from '../patch.ts';
import type { Problem } from '../text/problem.ts';
import { Report } from '../text/report.ts';
import { type Rack, rackFrom } from './rack.ts';
import { ontoRack } from './with-rack.ts';

/** Which file a rack is read from, and what its units may be. */
export interface ReadRackOptions {
  /** Name of the file, for the places of problems. */
  readonly file: string;
  /** Kinds of module that its units may be of: `KINDS`, and any of one's own. */
  readonly kinds: readonly Definition[];
}

/**
 * Reads and checks a rack: what one owns, as measured.
 * @param text the file, in the format of `patches/rack.schema.json`.
 * @returns the rack if nothing is wrong, and all problems in the order of the file. Throws nothing.
 */
export function readRack(
  text: string,
  { file, kinds }: ReadRackOptions,
): { readonly rack?: Rack; readonly problems: readonly Problem[] } {
  const report = new Report();
  const rack = rackFrom(file, text, kinds, report);
  return rack !== undefined && report.count === 0
    ? { rack, problems: [] }
    : { problems: report.sorted(file) };
}

/**
 * Puts a rack into a patch: each module becomes one of its units, with the settings that are fixed on
 * it and the facts measured at its jacks. A module that no unit is left for stays as it is.
 * @param patch one that was read without a rack. A patch that gives settings as dial positions is read
 *   with its rack instead, by `readPatch` with `rack` or `loadRack`.
 * @returns the patch on the rack if they go together, and all problems in the order of the patch's
 *   file. The patch that was given stays as it is.
 */
export function withRack(
  patch: Patch,
  rack: Rack,
): { readonly patch?: Patch; readonly problems: readonly Problem[] } {
  const report = new Report();
  const owned = ontoRack(patch, rack, report);
  return report.count === 0
    ? { patch: owned, problems: [] }
    : { problems: report.sorted(patch.file) };
}
