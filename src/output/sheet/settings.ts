/** The settings of a patch's modules as one turns them: values, and positions of dials where a rack has them. */

import { inVolts } from '../../findings/words.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { positionOf } from '../../patch/rack/dial.ts';
import { formatRow } from '../../patch/score/row.ts';
import { isScoreSpec } from '../../patch/settings.ts';
import { formatBriefly, formatValue } from '../../patch/units.ts';

export interface ModuleSettings {
  readonly name: string;
  readonly kind: string;
  /** The unit of the rack that it is. */
  readonly unit: string | undefined;
  readonly settings: readonly SheetSetting[];
}

export interface SheetSetting {
  readonly name: string;
  readonly value: string;
  /** Where the rack's dial stands for it, as in `dial 3.4`. */
  readonly dial: string | undefined;
  /** Whether the patch says so, rather than leaving it as it usually is. */
  readonly isGiven: boolean;
}

/** Lists the settings of every module that has any, in the order of the file. */
export function moduleSettings(patch: Patch): readonly ModuleSettings[] {
  return patch.modules.flatMap((module) => {
    const settings = Object.keys(module.definition.settings).flatMap((name) =>
      settingOf(name, module, patch),
    );
    const { name, definition, unit } = module;
    if (settings.length === 0) return [];
    return [{ name, kind: definition.kind, unit: unit?.name, settings }];
  });
}

function settingOf(name: string, module: PatchModule, { owned }: Patch): SheetSetting[] {
  const spec = module.definition.settings[name];
  // What a rhythm plays has a section of its own.
  if (spec === undefined || isScoreSpec(spec)) return [];
  const value = module.settings[name];
  const isGiven = module.settingPlaces.has(name);
  if (spec.type === 'row') {
    const values = value as readonly number[];
    const text = spec.unit === 'pitch' ? values.map(inVolts).join(', ') : formatRow(values, spec);
    return [{ name, value: text, dial: undefined, isGiven }];
  }
  const unit = owned?.units.find((one) => one.name === module.unit?.name);
  const table = unit?.dials.get(name);
  const written = module.dials?.get(name)?.position;
  const position = written ?? (table && positionOf(table, value as number));
  const text =
    'max' in spec ? formatBriefly(value as number, spec.type) : formatValue(value, spec.type);
  return [{ name, value: text, dial: dialText(position, table !== undefined), isGiven }];
}

/** A position to a tenth, finer than a hand turns. */
function dialText(position: number | undefined, hasTable: boolean): string | undefined {
  if (position !== undefined) return `dial ${Number(position.toFixed(1))}`;
  return hasTable ? 'beyond the dial' : undefined;
}
