/** A patch that starts elsewhere in its song: any entry and any pattern can be heard, however long the song. */

import type { Patch } from '../../patch/patch.ts';
import { rhythmSettings } from '../../timing/settings.ts';
import type { From } from '../protocol.ts';

/**
 * The patch whose song begins with an entry, or is one pattern alone. It starts as any patch does: from
 * rest, with a start pulse, bars counted from there; what follows a clock begins with its first step.
 * @returns the patch itself where it has no such place.
 */
export function startedAt(patch: Patch, from: From | undefined): Patch {
  if (from === undefined) return patch;
  const module = patch.modules.find(({ name }) => name === from.module);
  if (module?.definition.role !== 'score') return patch;
  const { song, patterns } = rhythmSettings(module.settings);
  const pattern =
    from.type === 'pattern' ? patterns.findIndex(({ name }) => name === from.pattern) : -1;
  const rest =
    from.type === 'entry' ? song.slice(from.entry) : pattern < 0 ? [] : [{ pattern, repeats: 1 }];
  if (rest.length === 0) return patch;
  const started = { ...module, settings: { ...module.settings, song: rest } };
  return { ...patch, modules: patch.modules.map((one) => (one === module ? started : one)) };
}
