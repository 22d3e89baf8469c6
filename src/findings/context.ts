/** Works out what all rules look at. */

import type { NetLevels } from '../electrical/levels.ts';
import { netLevels, rangesOf } from '../electrical/levels.ts';
import { type Net, type Netlist, netlist } from '../electrical/nets.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { drivenAmplifiers } from './amplifiers.ts';
import type { Context } from './finding.ts';
import { loopJacks } from './loops.ts';
import { Listener, type Meters, type Rehearsal, rehearse } from './rehearsal.ts';
import { type PlayedEnvelope, playedEnvelopes } from './triggers/envelopes.ts';
import { Triggers } from './triggers/triggers.ts';

/**
 * Finds the nets of a patch and their volts; triggers and the rehearsal only when a rule asks.
 * @param patch a checked patch, with its rack's facts in its jacks if it has one.
 * @param tolerance share by which every resistance, level and threshold may be off, 0 to 0.5.
 */
export function contextOf(patch: Patch, tolerance = 0): Context {
  const list = netlist(patch);
  const ranges = rangesOf(patch, list, tolerance);
  const levels = new Map(list.nets.map((net) => [net, netLevels(net, ranges)]));
  let listener: Listener | undefined;
  const listen = (): Listener => {
    listener ??= new Listener(metersFor(patch, list, levels, triggers));
    return listener;
  };
  let rehearsal: Rehearsal | undefined;
  let isOver = false;
  const hear = (): Rehearsal | undefined => {
    // A render that this listened to is the best rehearsal; else a short one is played for it.
    if (!isOver) rehearsal = listener?.heard(patch) ?? rehearse(patch, listen());
    isOver = true;
    return rehearsal;
  };
  const triggers = new Triggers(patch, list, levels, hear);
  let envelopes: readonly PlayedEnvelope[] | undefined;
  const play = (): readonly PlayedEnvelope[] => {
    envelopes ??= playedEnvelopes(patch, list, triggers);
    return envelopes;
  };
  return {
    patch,
    netlist: list,
    levels,
    tolerance,
    triggers,
    listener: listen,
    rehearsal: hear,
    envelopes: play,
  };
}

/** The jacks at which some rule will want to know what was heard. */
function metersFor(
  patch: Patch,
  list: Netlist,
  levels: ReadonlyMap<Net, NetLevels>,
  triggers: Triggers,
): Meters {
  const pulses = triggers.toBeHeard().map(({ module, jack }) => ({
    jack: { module: module.name, jack: jack.name },
    facts: jack.facts,
  }));
  const volts = new Map<string, { jack: JackRef; limit: number }>();
  for (const { jack, limit } of loopJacks(patch, list)) volts.set(jackName(jack), { jack, limit });
  for (const { control: jack } of drivenAmplifiers({ patch, netlist: list, levels }))
    volts.set(jackName(jack), { jack, limit: Number.POSITIVE_INFINITY });
  return { pulses, volts: [...volts.values()] };
}
