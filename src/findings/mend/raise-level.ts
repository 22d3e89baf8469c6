/** The mend for a level that is too low: a higher setting of the module that gives it. */

import type { Net } from '../../electrical/nets.ts';
import type { NumberSpec } from '../../modules/definition.ts';
import type { JackRef, Patch, PatchModule } from '../../patch/patch.ts';
import { fixedText } from '../../patch/rack/with-rack.ts';
import { formatBriefly } from '../../patch/units.ts';
import { barredByRack, isFixedByRack } from '../by-rack.ts';
import type { BarredMend, Context, Finding, Mend } from '../finding.ts';
import { addsVolts, type Origin, origins } from '../triggers/carried.ts';
import { wire } from '../words.ts';
import { markFor } from './dial-mark.ts';
import { pastTheEnd, rangeOf, unitOf } from './off-the-dial.ts';
import { onDial, setTo } from './set-to.ts';

/** Settings that an output's high volts are in proportion to, by what kinds call them. */
const LEVEL_SETTINGS = ['level', 'peak', 'accent-level'];
/** What a level should have over the threshold, so that it is not marginal either. */
const ROOM = 1.3;

/** A setting, and the value that it should have. */
export interface Raise {
  readonly module: PatchModule;
  readonly setting: string;
  readonly value: number;
  /** With its unit, and its place on the dial where the rack has measured one. */
  readonly said: string;
}

/** Edits that raise the level so that the input fires with room to spare, or why the rack lets none. */
export function raiseLevel(finding: Finding, context: Context): Mend | undefined {
  const raise = finding.jack && raisedOrBarred(finding.jack, context);
  if (raise === undefined || 'why' in raise) return raise;
  return setTo(raise.module, raise.setting, raise.value, context.patch);
}

/**
 * The setting that makes an input fire with room to spare, and its value.
 * @returns undefined where none can: the driver has no such setting, the rack fixes it, or its range ends
 *   before.
 */
export function raiseFor(jack: JackRef, context: Context): Raise | undefined {
  const raise = raisedOrBarred(jack, context);
  return raise === undefined || 'why' in raise ? undefined : raise;
}

/** The same, or what of the rack is in its way. */
function raisedOrBarred(jack: JackRef, context: Context): Raise | BarredMend | undefined {
  const { netlist, levels, tolerance } = context;
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
  if (trigger.driven <= 0 || addsVolts(output)) return undefined;
  if (trigger.least <= 0) return undefined;
  const factor = ((ROOM + tolerance) * trigger.on) / trigger.least;
  const here = raisedAt(output, factor, context);
  if (here !== undefined && !('why' in here)) return here;
  const source = sourceOf(net as Net, netlist);
  const further = source && raisedAt(source, factor, context);
  return here === undefined || (further !== undefined && !('why' in further)) ? further : here;
}

/** The one output whose level a module only passes on, with nothing added, to a net. */
function sourceOf(net: Net, netlist: Context['netlist']): Origin | undefined {
  const [only, ...others] = origins(net, netlist);
  const isPassed = only !== undefined && !net.outputs.includes(only);
  return isPassed && others.length === 0 ? only : undefined;
}

/** The setting of an output's module that raises its level by a factor, or what of the rack is in its way. */
function raisedAt(
  { module, jack }: Origin,
  factor: number,
  { netlist, patch }: Context,
): Raise | BarredMend | undefined {
  const setting = levelSetting(module, jack.name, patch);
  if (setting !== undefined) return higher(module, setting, factor, patch);
  const net = netlist.at({ module: module.name, jack: jack.name });
  if (net !== undefined && isFixedByRack(net)) return barredByRack(net, 'high', patch);
  const fixed = LEVEL_SETTINGS.find((name) => raisesWith(module, jack.name, name));
  return fixed === undefined ? undefined : fixedOn(module, fixed, patch);
}

/** What bars a mend by a setting that the rack fixes; undefined where it does not. */
function fixedOn(module: PatchModule, setting: string, patch: Patch): BarredMend | undefined {
  const unit = unitOf(module, patch);
  if (unit === undefined || !Object.hasOwn(unit.fixed, setting)) return undefined;
  const { name, place } = unit;
  const whose = name === module.name ? name : `${name}, which ${module.name} is,`;
  return {
    why: `the rack fixes ${setting} of ${whose} at ${fixedText(unit, setting)} (${place.file}:${place.line})`,
  };
}

/** The setting that a jack's high volts go up with, if the module has a knob for it. */
function levelSetting(module: PatchModule, jack: string, patch: Patch): string | undefined {
  return LEVEL_SETTINGS.find(
    (name) => raisesWith(module, jack, name) && fixedOn(module, name, patch) === undefined,
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

/** The setting's value times `factor`, rounded up within its range; undefined beyond that. */
function higher(
  module: PatchModule,
  setting: string,
  factor: number,
  patch: Patch,
): Raise | BarredMend | undefined {
  const spec = module.definition.settings[setting] as NumberSpec;
  const now = module.settings[setting] as number;
  const least = now * factor;
  if (now <= 0 || factor <= 1 || least > spec.max) return undefined;
  const unit = unitOf(module, patch);
  const dial = unit?.dials.get(setting);
  const most = Math.min(spec.max, dial === undefined ? spec.max : rangeOf(dial).high);
  if (unit !== undefined && least > most) return { why: pastTheEnd(module, setting, unit, least) };
  // To the next half volt or ten percent above, as one would turn it; on a dial to the next mark.
  const step = spec.type === 'percent' ? 0.1 : 0.5;
  const round = Math.min(Math.ceil(least / step - 1e-9) * step, most);
  const isDialled = module.dials?.has(setting) === true;
  const mark = dial && markFor(dial, isDialled ? least : round);
  const value = isDialled && mark !== undefined ? mark.value : round;
  const said = `${formatBriefly(value, spec.type)}${onDial(module, setting, value, patch)}`;
  return { module, setting, value, said };
}
