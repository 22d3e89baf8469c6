/**
 * Patching along: one cable after another in patching order. As with the stages of a lesson, each step is
 * the patch as far as it is built, so that its volts and its sound are those of the cabinet at that moment.
 */

import { netLevels, rangesOf, type TriggerLevels } from '../../electrical/levels.ts';
import { Prepared, prepared } from '../../engine/prepared.ts';
import type { Cable, JackRef, Patch } from '../../patch/patch.ts';
import { cableName } from '../diagram/wires.ts';
import { cableList, type ListedCable } from '../sheet/cables.ts';

/** A cable in its turn, and the patch with it. */
export interface AlongStep {
  /** Both ends of the cable, which no other has: `drums.hat shape.trigger`. */
  readonly name: string;
  /** The part of the cable list that it is in. */
  readonly group: string;
  readonly cable: ListedCable;
  /** The patch with this cable and those before it, and no other. */
  readonly patch: Patch;
  /** The same, with what is worked out of it. */
  readonly of: Prepared;
}

/**
 * Lists the steps, one a cable, in the order and with the numbers of the sheet's cable list; none for a
 * patch without a cable.
 * @param of a checked patch, with its rack's facts in its jacks if it has one.
 */
export function alongSteps(of: Patch | Prepared): readonly AlongStep[] {
  const all = prepared(of);
  const plugged: Cable[] = [];
  return cableList(all).flatMap(({ title, cables }) =>
    cables.map((cable): AlongStep => {
      plugged.push(cable);
      const patch = { ...all.patch, cables: [...plugged] };
      return { name: cableName(cable), group: title, cable, patch, of: new Prepared(patch) };
    }),
  );
}

/** What a meter shows at a jack. */
export interface JackVolts {
  /** V, the lowest and the highest that what is plugged can make of it. */
  readonly low: number;
  readonly high: number;
  /** V while every output that reaches it is at rest. */
  readonly rest: number;
  /** Whether an output reaches it at all. */
  readonly isDriven: boolean;
  /** At a trigger input that an output reaches. */
  readonly trigger?: TriggerLevels;
}

/**
 * Works out the volts at a jack of a patch, with a plug in it or without one.
 * @param at a jack that the patch has; one that it has not is at 0 V.
 */
export function voltsAt(of: Patch | Prepared, at: JackRef): JackVolts {
  const all = prepared(of);
  const list = all.netsWith([at]);
  const net = list.at(at);
  if (net === undefined) return { low: 0, high: 0, rest: 0, isDriven: false };
  const ranges = list === all.nets ? all.ranges : rangesOf(all.patch, list, 0);
  const { low, high, rest, inputs } = netLevels(net, ranges);
  const trigger = inputs.find(
    ({ terminal: { module, jack } }) => module.name === at.module && jack.name === at.jack,
  )?.trigger;
  return { low, high, rest, isDriven: net.outputs.length > 0, ...(trigger && { trigger }) };
}
