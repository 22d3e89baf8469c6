/** The settings of a patch's modules as one turns them: values, and positions of dials where a rack has them. */

import { seedsFor } from '../../modules/dsp/random.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { positionOf } from '../../patch/rack/dial.ts';
import { dialText, settingText } from '../../patch/setting-text.ts';
import { isScoreSpec } from '../../patch/settings.ts';

export interface ModuleSettings {
  readonly name: string;
  readonly kind: string;
  /** The unit of the rack that it is. */
  readonly unit: string | undefined;
  readonly settings: readonly SheetSetting[];
}

export interface SheetSetting {
  readonly name: string;
  /** As the file writes it. */
  readonly value: string;
  /** Where the rack's dial stands for it, as in `dial 3.4`. */
  readonly dial: string | undefined;
  /** What the patch asks for: the value, the position of the dial, or nothing of its own. */
  readonly given: 'value' | 'dial' | undefined;
}

/** Lists every module with its settings, in the order of the file. */
export function moduleSettings(patch: Patch): readonly ModuleSettings[] {
  return patch.modules.map((each) => {
    const module = asDrawn(each, patch);
    return {
      name: module.name,
      kind: module.definition.kind,
      unit: module.unit?.name,
      settings: Object.keys(module.definition.settings).flatMap((name) =>
        settingOf(name, module, patch),
      ),
    };
  });
}

function settingOf(name: string, module: PatchModule, patch: Patch): SheetSetting[] {
  const spec = module.definition.settings[name];
  // What a rhythm plays has a section of its own.
  if (spec === undefined || isScoreSpec(spec) || isIdle(name, module, patch)) return [];
  const isDial = dialText(module, name) !== undefined;
  const isGiven = module.settingPlaces.has(name);
  return [
    {
      name,
      value: settingText(module, name),
      dial: dialWords(name, module, patch),
      given: isDial ? 'dial' : isGiven ? 'value' : undefined,
    },
  ];
}

/**
 * The position of a setting's dial, as the file gives it or as the rack's table has it; undefined where
 * neither says.
 */
export function dialWords(
  name: string,
  module: PatchModule,
  { owned }: Pick<Patch, 'owned'>,
): string | undefined {
  const unit = owned?.units.find((one) => one.name === module.unit?.name);
  const table = unit?.dials.get(name);
  return (
    dialText(module, name) ??
    (table && foundDial(positionOf(table, module.settings[name] as number)))
  );
}

/** Whether it is the level of an input that nothing is plugged into, and the patch says nothing of it. */
function isIdle(
  name: string,
  { name: own, definition, settings, settingPlaces }: PatchModule,
  { cables }: Patch,
): boolean {
  if (settingPlaces.has(name)) return false;
  return definition
    .jacks(settings)
    .some(
      (jack) =>
        jack.direction === 'in' &&
        jack.level === name &&
        !cables.some(({ to }) => to.module === own && to.jack === jack.name),
    );
}

/** A position that was worked out, to a tenth: finer than a hand turns. */
function foundDial(position: number | undefined): string {
  return position === undefined ? 'beyond the dial' : `dial ${Number(position.toFixed(1))}`;
}

/** The module, with what the seed decides in place of settings that its file does not give. */
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
