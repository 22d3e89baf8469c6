/**
 * What makes a weak trigger level strong enough. Each proposal is tried on a patch that has it, whose
 * nets are worked out again; one that does not bring every trigger of the net well over its threshold is
 * not made.
 */

import {
  type NetLevels,
  netLevels,
  rangesOf,
  type TriggerLevels,
} from '../../electrical/levels.ts';
import { type Net, netlist } from '../../electrical/nets.ts';
import { attenuator } from '../../modules/attenuator.ts';
import { comparator } from '../../modules/comparator.ts';
import type { AnyValues, Definition } from '../../modules/definition.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../../patch/patch.ts';
import { measuredJack } from '../../patch/rack/jacks.ts';
import type { Unit } from '../../patch/rack/rack.ts';
import type { Context } from '../finding.ts';
import { drivenAsMeant } from '../triggers/triggers.ts';
import { capitalised, inVolts } from '../words.ts';
import { raiseFor } from './raise-level.ts';

/** Share of the threshold that a trigger should have to spare. Source: common practice, no source. */
export const ROOM_ENOUGH = 0.2;

/** A trigger input that gets what it waits for, however little of it. */
export interface DrivenTrigger {
  readonly net: Net;
  readonly jack: JackRef;
  readonly trigger: TriggerLevels;
  /** See {@link whatHelps}; worked out once a net, and only where it is asked for. */
  readonly waysOut: () => readonly string[];
}

export function drivenTriggers(context: Context): readonly DrivenTrigger[] {
  return [...context.levels.values()].flatMap((level) => {
    const { net, inputs } = level;
    let ways: readonly string[] | undefined;
    const waysOut = (): readonly string[] => {
      ways ??= whatHelps(level, context);
      return ways;
    };
    return inputs.flatMap(({ terminal: { module, jack }, trigger }): DrivenTrigger[] =>
      trigger !== undefined && drivenAsMeant(net, trigger.type)
        ? [{ net, jack: { module: module.name, jack: jack.name }, trigger, waysOut }]
        : [],
    );
  });
}

/**
 * Finds what helps the triggers of a net with one voltage output.
 * @returns parts of a sentence, such as `set level of drums to 3.5 V`, the cheapest first; none if
 *   nothing does.
 */
function whatHelps({ net, inputs, low, high }: NetLevels, context: Context): readonly string[] {
  const { patch } = context;
  const [output, ...others] = net.outputs;
  if (output === undefined || others.length > 0 || output.jack.facts.type !== 'voltage') return [];
  const source = { module: output.module.name, jack: output.jack.name };
  const helps = (changed: Patch, kept = net.inputs): boolean =>
    isEnough(
      changed,
      kept.map(({ module, jack }) => ({ module: module.name, jack: jack.name })),
      context.tolerance,
    );
  const found: string[] = [];

  const [weakest] = inputs
    .filter(({ trigger }) => trigger !== undefined)
    .toSorted((a, b) => (a.trigger?.share ?? 0) - (b.trigger?.share ?? 0));
  const jack = weakest && {
    module: weakest.terminal.module.name,
    jack: weakest.terminal.jack.name,
  };
  const raise = jack && raiseFor(jack, context);
  if (raise !== undefined) {
    const { module, setting, value, said } = raise;
    if (helps(withSetting(patch, module, setting, value)))
      found.push(`set ${setting} of ${module.name} to ${said}`);
  }

  // The inputs that load it most stay, so that it is enough whichever are taken off. Fewer are never worse.
  const heaviest = net.inputs.toSorted((a, b) => a.jack.facts.ohms - b.jack.facts.ohms);
  const isEnoughWith = (left: number): boolean => {
    const off = new Set(
      heaviest.slice(left).map(({ module, jack }) => `${module.name}.${jack.name}`),
    );
    const cables = patch.cables.filter(
      ({ from, to }) => !off.has(jackName(to)) && !off.has(jackName(from)),
    );
    return helps({ ...patch, cables }, heaviest.slice(0, left));
  };
  let most = 0;
  let tooMany = heaviest.length;
  while (tooMany - most > 1) {
    const middle = (most + tooMany) >> 1;
    if (isEnoughWith(middle)) most = middle;
    else tooMany = middle;
  }
  if (most > 0)
    found.push(`leave no more than ${most} of the ${heaviest.length} inputs on the net`);

  const buffer = spare(attenuator, {}, patch);
  if (buffer !== undefined && helps(through(patch, source, buffer, 'in', 'out')))
    found.push('put a buffer in front of the inputs (an attenuator at 100 %)');

  // Halfway, to a tenth of a volt.
  const threshold = Math.round(5 * (low + high)) / 10;
  const gate =
    threshold > low && threshold < high ? spare(comparator, { threshold }, patch) : undefined;
  if (gate !== undefined && helps(through(patch, source, gate, 'in', 'above')))
    found.push(`put a comparator in front of the inputs, its threshold at ${inVolts(threshold)}`);
  return found;
}

/** `Do this, or do that.`; `otherwise` if there is nothing. */
export function asAdvice(ways: readonly string[], otherwise: string): string {
  const text = ways.join(', or ');
  return text === '' ? otherwise : `${capitalised(text)}.`;
}

/** Whether all triggers at these inputs have room to spare, and are ready again at rest. */
function isEnough(patch: Patch, inputs: readonly JackRef[], tolerance: number): boolean {
  const list = netlist(patch);
  const ranges = rangesOf(patch, list, tolerance);
  return inputs.every((ref) => {
    const net = list.at(ref);
    if (net === undefined) return false;
    const input = netLevels(net, ranges).inputs.find(
      ({ terminal: { module, jack } }) => module.name === ref.module && jack.name === ref.jack,
    );
    const trigger = input?.trigger;
    return (
      input?.terminal.jack.facts.trigger === undefined ||
      (trigger !== undefined && trigger.share >= ROOM_ENOUGH && trigger.release >= 0)
    );
  });
}

export function withSetting(
  patch: Patch,
  module: PatchModule,
  setting: string,
  value: unknown,
): Patch {
  const settings = { ...module.settings, [setting]: value };
  const unit = patch.owned?.units.find(({ name }) => name === module.unit?.name);
  const changed = { ...module, settings, jacks: jacksOn(module.definition, settings, unit) };
  return { ...patch, modules: patch.modules.map((one) => (one === module ? changed : one)) };
}

/**
 * A module to be added, as the rack would have it.
 * @returns undefined where the rack has none to spare, or no cable for it, or fixes it at another setting.
 */
export function spare(
  definition: Definition,
  wanted: AnyValues,
  patch: Patch,
): PatchModule | undefined {
  const { owned, modules, cables } = patch;
  const used = (unit: Unit): number => modules.filter((one) => one.unit?.name === unit.name).length;
  const settings = {
    ...Object.fromEntries(
      Object.entries(definition.settings).map(([name, spec]) => [
        name,
        'fallback' in spec ? spec.fallback : undefined,
      ]),
    ),
    ...wanted,
  };
  const unit = owned?.units.find(
    (one) =>
      one.definition.kind === definition.kind &&
      used(one) < one.count &&
      Object.entries(one.fixed).every(([name, value]) => settings[name] === value),
  );
  if (owned !== undefined && (unit === undefined || cables.length >= (owned.cables ?? Infinity)))
    return undefined;
  return {
    // No module of a file can have this name.
    name: '(added)',
    definition,
    settings,
    jacks: jacksOn(definition, settings, unit),
    place: { file: patch.file, line: 1, column: 1, length: 1 },
    settingPlaces: new Map(),
  };
}

function jacksOn(
  definition: Definition,
  settings: AnyValues,
  unit: Unit | undefined,
): PatchModule['jacks'] {
  const jacks = definition.jacks(settings);
  return unit === undefined ? jacks : jacks.map((jack) => measuredJack(jack, unit.jacks));
}

/** The patch with a module put in behind an output. */
function through(
  patch: Patch,
  source: JackRef,
  added: PatchModule,
  input: string,
  output: string,
): Patch {
  const name = jackName(source);
  const moved = (ref: JackRef): JackRef =>
    jackName(ref) === name ? { module: added.name, jack: output } : ref;
  const cables = patch.cables.map(
    (cable): Cable => ({ ...cable, from: moved(cable.from), to: moved(cable.to) }),
  );
  const first: Cable = {
    from: source,
    to: { module: added.name, jack: input },
    place: added.place,
  };
  return { ...patch, modules: [...patch.modules, added], cables: [...cables, first] };
}
