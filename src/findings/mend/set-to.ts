/** The commonest change of a file: another value of one setting. */

import type { Edit } from '../../patch/edit/edit.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { formatValue, type PlainSpec } from '../../patch/units.ts';
import { markFor } from './dial-mark.ts';
import { unitOf } from './off-the-dial.ts';

/**
 * Edits that give a setting another value, wherever the file gives it now, and as it gives it: what is a
 * position of a dial stays one, and gives no less than the value.
 * @param text the value in words of its own; otherwise in the unit of its size.
 * @returns undefined where no file gives it.
 */
export function setTo(
  module: PatchModule,
  setting: string,
  value: unknown,
  patch: Patch,
  text = formatValue(value, (module.definition.settings[setting] as PlainSpec).type),
): readonly Edit[] | undefined {
  const place = module.settingPlaces.get(setting);
  if (place === undefined) return [{ type: 'add-setting', place: module.place, setting, text }];
  // No edit of the file changes what the command line has set.
  if (place.file === '--set') return undefined;
  const dial = module.dials?.has(setting) ? unitOf(module, patch)?.dials.get(setting) : undefined;
  const mark = typeof value === 'number' && dial !== undefined ? markFor(dial, value) : undefined;
  return [{ type: 'replace-text', place, text: mark?.text ?? text }];
}

/**
 * ` (dial 6.3)` for a value of a setting whose dial the rack has measured; empty for a setting without a
 * measured dial.
 */
export function onDial(module: PatchModule, setting: string, value: unknown, patch: Patch): string {
  const dial = unitOf(module, patch)?.dials.get(setting);
  const mark = typeof value === 'number' && dial !== undefined ? markFor(dial, value) : undefined;
  return mark === undefined ? '' : ` (${mark.text})`;
}
