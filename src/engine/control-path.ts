/**
 * The part of a patch that decides when things happen: every module with a trigger input that a plug
 * is in, and all that drives it. Playing that alone gives the same volts at those inputs as playing
 * the whole patch, and leaves the sound out.
 */

import type { Net, Netlist } from '../electrical/nets.ts';
import type { Definition, InputJack } from '../modules/definition.ts';
import { output as outputKind } from '../modules/output.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../patch/patch.ts';

/** A trigger input that a plug is in. */
export interface TriggerJack {
  readonly module: PatchModule;
  readonly jack: InputJack;
  /** The outputs that its volts come from. */
  readonly drivers: readonly JackRef[];
  /** The outputs of rhythm sequencers that its triggers come from, as `module.jack`. */
  readonly origins: ReadonlySet<string>;
  /** Whether something on the way counts pulses, so that the input need not notice each one of these outputs. */
  readonly counted: boolean;
  /**
   * Whether something that no rhythm drives triggers it as well, such as a clock: no time since a rhythm's edge
   * says how late it is.
   */
  readonly isLed: boolean;
}

export interface ControlPath {
  /** What is to be played. */
  readonly patch: Patch;
  readonly triggers: readonly TriggerJack[];
}

/** Finds the control path of a patch by its nets. It always has an output module: one is added where there is none. */
export function controlPath(patch: Patch, { nets, at }: Netlist): ControlPath {
  const netOf = (module: PatchModule, jack: { readonly name: string }): Net | undefined =>
    at({ module: module.name, jack: jack.name });
  const triggers = patch.modules.flatMap((module) =>
    module.jacks.flatMap((jack): TriggerJack[] => {
      if (jack.direction !== 'in' || jack.facts.trigger === undefined) return [];
      const net = netOf(module, jack);
      if (net === undefined || net.outputs.length === 0) return [];
      const drivers = net.outputs.map((from) => ({
        module: from.module.name,
        jack: from.jack.name,
      }));
      return [{ module, jack, drivers, ...originsOf(net, netOf) }];
    }),
  );

  const needed = new Set<PatchModule>();
  const wave = [
    ...triggers.map(({ module }) => module),
    ...patch.modules.filter(({ definition }) => definition.role === 'score'),
  ];
  for (let module = wave.pop(); module !== undefined; module = wave.pop()) {
    if (needed.has(module)) continue;
    needed.add(module);
    for (const jack of module.jacks) {
      if (jack.direction !== 'in') continue;
      for (const from of netOf(module, jack)?.outputs ?? []) wave.push(from.module);
    }
  }
  const kept = new Set(
    nets
      .filter(
        ({ inputs, outputs }) =>
          inputs.some(({ module }) => needed.has(module)) &&
          outputs.every(({ module }) => needed.has(module)),
      )
      .flatMap(({ cables }) => cables),
  );
  return {
    patch: {
      ...patch,
      modules: withOutput(
        patch.modules.map((module) => (needed.has(module) ? module : idle(module))),
      ),
      cables: patch.cables.filter((cable) => kept.has(cable)),
    },
    triggers,
  };
}

/** A module that loads its nets as before, and does not run. */
function idle(module: PatchModule): PatchModule {
  const { create: _, ...definition } = module.definition;
  return { ...module, definition };
}

function withOutput(modules: readonly PatchModule[]): readonly PatchModule[] {
  if (modules.some(({ definition }) => definition.role === 'output')) return modules;
  const definition: Definition = outputKind;
  const settings = { 'full-scale': 1 };
  // No name in a patch contains a space.
  const name = 'no output';
  const place = { file: '', line: 1, column: 1, length: 1 };
  const jacks = definition.jacks(settings);
  return [...modules, { name, definition, settings, jacks, place, settingPlaces: new Map() }];
}

/**
 * The inputs that the triggers of an output come from: every input of what has no trigger input, such as
 * a slew limiter; otherwise its triggers, and what it carries, as a switch does.
 */
function leading({ jacks, definition }: PatchModule, output: string): readonly InputJack[] {
  const inputs = jacks.filter((jack): jack is InputJack => jack.direction === 'in');
  if (inputs.every(({ facts }) => facts.trigger === undefined)) return inputs;
  const carried = definition.carries?.[output] ?? [];
  return inputs.filter(
    ({ name, facts, rise }) =>
      carried.includes(name) ||
      (facts.trigger !== undefined && rise !== 'resets' && rise !== 'ends'),
  );
}

/** Goes upstream to the rhythm sequencers. */
function originsOf(
  net: Net,
  netOf: (module: PatchModule, jack: { readonly name: string }) => Net | undefined,
): Pick<TriggerJack, 'origins' | 'counted' | 'isLed'> {
  const origins = new Set<string>();
  const seen = new Set<Net>();
  let counted = false;
  let isLed = false;
  const wave = [{ next: net, triggers: true }];
  for (let one = wave.pop(); one !== undefined; one = wave.pop()) {
    const { next, triggers } = one;
    if (seen.has(next)) continue;
    seen.add(next);
    for (const { module, jack } of next.outputs) {
      if (module.definition.role === 'score') {
        origins.add(jackName({ module: module.name, jack: jack.name }));
        continue;
      }
      counted ||= module.definition.recounts === true;
      const inputs = leading(module, jack.name);
      const before = inputs.flatMap((input) => netOf(module, input) ?? []);
      isLed ||= triggers && before.length === 0;
      // Of volts that are mixed, those that move slowly may only set when the others trigger.
      const isMixed = before.length > 1 && inputs.every(({ facts }) => facts.trigger === undefined);
      for (const net of before) wave.push({ next: net, triggers: triggers && !isMixed });
    }
  }
  return { origins, counted: counted || isLed, isLed: isLed && origins.size > 0 };
}
