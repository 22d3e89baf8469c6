/** Whose triggers can be of either type, by a setting, and what turns one type into the other. */

import type { Netlist } from '../../electrical/nets.ts';
import type { Definition } from '../../modules/definition.ts';
import type { JackRef, PatchModule } from '../../patch/patch.ts';
import { copiedAt } from '../mend/rhythm-gate.ts';

/** The setting for the type of a trigger input, and the input. */
export interface TriggerType {
  readonly setting: string;
  readonly jack: string;
}

/** The first that a kind has. */
export function triggerType({ settings }: Pick<Definition, 'settings'>): TriggerType | undefined {
  for (const [setting, spec] of Object.entries(settings))
    if (spec.type === 'choice' && spec.fires !== undefined) return { setting, jack: spec.fires };
  return undefined;
}

/** The trigger input of a module that can be of either type. */
export function firedJack({ name, definition }: PatchModule): JackRef | undefined {
  const type = triggerType(definition);
  return type && { module: name, jack: type.jack };
}

/** The type that a module's trigger is of now; undefined where it has no setting for it. */
export function typeNow({ definition, settings }: PatchModule): unknown {
  const type = triggerType(definition);
  return type && settings[type.setting];
}

/** Gives settings with which the trigger is of a type. */
export function typeSet({ definition }: PatchModule, type: unknown): Record<string, unknown> {
  const own = triggerType(definition);
  return own === undefined ? {} : { [own.setting]: type };
}

/** The switch output of a module that closes as long as each gate at one of its inputs, and that input. */
export function switchWay(
  module: PatchModule,
  netlist: Netlist,
): { readonly from: JackRef; readonly to: JackRef } | undefined {
  for (const jack of module.jacks) {
    if (jack.direction !== 'out' || jack.facts.type !== 'switch') continue;
    const to = { module: module.name, jack: jack.name };
    const from = copiedAt(module, jack.name);
    if (from !== undefined && netlist.at(to) !== undefined) return { from, to };
  }
  return undefined;
}

/** Whether modules of a kind turn gates into switch closures as long. */
export function isConverter({ gates }: Definition, jacks: PatchModule['jacks']): boolean {
  return jacks.some(
    (jack) =>
      jack.direction === 'out' && jack.facts.type === 'switch' && gates?.(jack.name)?.isCopy,
  );
}
