/**
 * Works out what all rules look at: first what is known of a patch without playing it, and with that
 * what was heard of it, in a rehearsal or a render.
 */

import type { Prepared } from '../engine/prepared.ts';
import { stemsOf } from '../engine/stems.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { drivenAmplifiers } from './amplifiers.ts';
import { movedLines } from './delay-lines.ts';
import type { Context } from './finding.ts';
import { loopJacks } from './loops.ts';
import { type Outset, outsetOf } from './outset.ts';
import { Listener, type Rehearsal, rehearse } from './rehearsal.ts';
import { type PlayedEnvelope, playedEnvelopes } from './triggers/envelopes.ts';
import { Triggers } from './triggers/triggers.ts';

/**
 * What rules look at. A rehearsal, no longer than takes a moment, is played when a rule first asks for it.
 * @param of as for {@link outsetOf}.
 */
export function contextOf(of: Patch | Prepared, tolerance = 0): Context {
  return contextFrom(outsetOf(of, tolerance), undefined);
}

/** The same, with what a listener heard of the patch; without that, it is played once a rule asks. */
export function contextFrom(outset: Outset, heard: Rehearsal | undefined): Context {
  const { prepared: all, patch, netlist } = outset;
  const rehearsal = once(() => heard ?? rehearse(all, listenerFor(outset)));
  const triggers = new Triggers(outset, rehearsal);
  const envelopes = once((): readonly PlayedEnvelope[] =>
    playedEnvelopes(patch, netlist, triggers),
  );
  return { ...outset, triggers, rehearsal, envelopes };
}

/** Listens at the jacks at which some rule will want to know what was heard. */
export function listenerFor(outset: Outset): Listener {
  const { patch, netlist } = outset;
  const triggers = new Triggers(outset, () => undefined);
  const pulses = triggers.toBeHeard().map(({ module, jack }) => ({
    jack: { module: module.name, jack: jack.name },
    facts: jack.facts,
  }));
  const volts = new Map<string, { jack: JackRef; limit: number }>();
  for (const { jack, limit } of loopJacks(patch, netlist))
    volts.set(jackName(jack), { jack, limit });
  for (const { control: jack } of drivenAmplifiers(outset))
    volts.set(jackName(jack), { jack, limit: Number.POSITIVE_INFINITY });
  for (const { module, input } of movedLines(outset)) {
    const jack = { module: module.name, jack: input };
    volts.set(jackName(jack), { jack, limit: Number.POSITIVE_INFINITY });
  }
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const fullScale = output?.settings['full-scale'];
  return new Listener({
    pulses,
    volts: [...volts.values()],
    voices: stemsOf(outset.prepared),
    fullScale: typeof fullScale === 'number' ? fullScale : 1,
  });
}

/** Works something out when it is first asked for. */
function once<T>(work: () => T): () => T {
  let known: { readonly value: T } | undefined;
  return () => {
    known ??= { value: work() };
    return known.value;
  };
}
