/** The mend for a level that is too low: a higher setting of the module that gives it. */

import type { NumberSpec } from '../../modules/definition.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { formatValue } from '../../patch/units.ts';
import type { Context, Finding } from '../finding.ts';

/** Settings that an output's high volts are in proportion to, by what kinds call them. */
const LEVEL_SETTINGS = ['level', 'peak', 'accent-level'];
/** What a level should have over the threshold, so that it is not marginal either. */
const ROOM = 1.3;

/** Edits that raise the level so that the input fires with room to spare; undefined if none can. */
export function raiseLevel(
  { jack }: Finding,
  { netlist, levels, tolerance }: Context,
): readonly Edit[] | undefined {
  const net = jack && netlist.at(jack);
  const input =
    net &&
    levels
      .get(net)
      ?.inputs.find(
        ({ terminal }) => terminal.module.name === jack.module && terminal.jack.name === jack.jack,
      );
  const [output, ...others] = net?.outputs ?? [];
  if (input?.trigger?.type !== 'voltage' || output === undefined || others.length > 0)
    return undefined;
  const { trigger } = input;
  if (trigger.driven <= 0 || output.module.settings.offset) return undefined;
  const worst = trigger.margin + trigger.on * (1 + tolerance);
  const factor = ((ROOM + tolerance) * trigger.on) / worst;
  const setting = LEVEL_SETTINGS.find((name) => raisesWith(output.module, output.jack.name, name));
  return setting === undefined ? undefined : setHigher(output.module, setting, factor);
}

/** Whether the jack's high volts go up with the setting. */
function raisesWith(module: PatchModule, jack: string, setting: string): boolean {
  const { definition, settings } = module;
  const spec = definition.settings[setting];
  if (spec === undefined || !('max' in spec)) return false;
  const highWith = (value: number): number => {
    const found = definition
      .jacks({ ...settings, [setting]: value })
      .find(({ name }) => name === jack);
    return found?.direction === 'out' && found.facts.type === 'voltage' ? found.facts.high : 0;
  };
  return highWith(spec.max) > highWith(settings[setting] as number);
}

function setHigher(
  module: PatchModule,
  setting: string,
  factor: number,
): readonly Edit[] | undefined {
  const spec = module.definition.settings[setting] as NumberSpec;
  const now = module.settings[setting] as number;
  // To the next half volt or ten percent above, as one would turn it.
  const step = spec.type === 'percent' ? 0.1 : 0.5;
  const value = Math.ceil((now * factor) / step - 1e-9) * step;
  if (now <= 0 || value > spec.max || factor <= 1) return undefined;
  return setTo(module, setting, formatValue(value, spec.type));
}

/** Edits that give a setting another value, wherever the file gives it now. */
export function setTo(
  module: PatchModule,
  setting: string,
  text: string,
): readonly Edit[] | undefined {
  const place = module.settingPlaces.get(setting);
  if (place === undefined) return [{ type: 'add-setting', place: module.place, setting, text }];
  // What the command line set, no edit of the file changes.
  if (place.file === '--set') return undefined;
  return [{ type: 'replace-text', place, text }];
}
