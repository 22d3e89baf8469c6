/** The mend for a level that is too low: a higher setting of the module that gives it. */

import type { Net } from '../../electrical/nets.ts';
import type { NumberSpec } from '../../modules/definition.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import type { JackRef, Patch, PatchModule } from '../../patch/patch.ts';
import { formatValue } from '../../patch/units.ts';
import type { Context, Finding } from '../finding.ts';
import { wire } from '../words.ts';

/** Settings that an output's high volts are in proportion to, by what kinds call them. */
const LEVEL_SETTINGS = ['level', 'peak', 'accent-level'];
/** What a level should have over the threshold, so that it is not marginal either. */
const ROOM = 1.3;

/** A setting, and the value that it should have. */
export interface Raise {
  readonly module: PatchModule;
  readonly setting: string;
  readonly value: number;
  /** With its unit. */
  readonly text: string;
}

/** Edits that raise the level so that the input fires with room to spare; undefined if none can. */
export function raiseLevel(finding: Finding, context: Context): readonly Edit[] | undefined {
  const raise = finding.jack && raiseFor(finding.jack, context);
  return raise && setTo(raise.module, raise.setting, raise.text);
}

/**
 * The setting that makes an input fire with room to spare, and its value.
 * @returns undefined where none can: the driver has no such setting, the rack fixes it, or its range ends
 *   before.
 */
export function raiseFor(jack: JackRef, context: Context): Raise | undefined {
  const { netlist, levels, tolerance, patch } = context;
  const net = netlist.at(jack);
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
  if (trigger.least <= 0) return undefined;
  const factor = ((ROOM + tolerance) * trigger.on) / trigger.least;
  const setting = levelSetting(output.module, output.jack.name, patch);
  return setting === undefined ? undefined : higher(output.module, setting, factor);
}

/** Whether a module's unit in the rack has no knob for a setting. */
export function isFixed({ unit }: PatchModule, setting: string, { owned }: Patch): boolean {
  const found = owned?.units.find(({ name }) => name === unit?.name);
  return found !== undefined && Object.hasOwn(found.fixed, setting);
}

/** The setting that a jack's high volts go up with, if the module has a knob for it. */
export function levelSetting(module: PatchModule, jack: string, patch: Patch): string | undefined {
  return LEVEL_SETTINGS.find(
    (name) => raisesWith(module, jack, name) && !isFixed(module, name, patch),
  );
}

/** What gives a net its level, as the cause of findings: a setting of several outputs, or its outputs. */
export function levelCause(net: Net): string {
  const [output, ...others] = net.outputs;
  if (output === undefined || others.length > 0) return wire(net);
  const { module, jack } = output;
  const setting = LEVEL_SETTINGS.find((name) => raisesWith(module, jack.name, name));
  return setting === undefined ? wire(net) : `${module.name} ${setting}`;
}

/** Whether the jack's high volts go up with the setting, which those that a rack gives do not. */
function raisesWith(module: PatchModule, jack: string, setting: string): boolean {
  const { definition, settings, jacks } = module;
  const output = jacks.find(({ name }) => name === jack);
  if (output?.direction === 'out' && output.facts.stage?.isFixed) return false;
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

/** The setting's value times `factor`, rounded up; undefined beyond its range. */
function higher(module: PatchModule, setting: string, factor: number): Raise | undefined {
  const spec = module.definition.settings[setting] as NumberSpec;
  const now = module.settings[setting] as number;
  // To the next half volt or ten percent above, as one would turn it.
  const step = spec.type === 'percent' ? 0.1 : 0.5;
  const value = Math.ceil((now * factor) / step - 1e-9) * step;
  if (now <= 0 || value > spec.max || factor <= 1) return undefined;
  return { module, setting, value, text: formatValue(value, spec.type) };
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
