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
import { FINE_RATE, FINEST_PLAYED } from './fine-rate.ts';
import { loopJacks } from './loops.ts';
import { type Outset, outsetOf } from './outset.ts';
import {
  type HeardPulses,
  Listener,
  type Rehearsal,
  rehearse,
  rehearsePulses,
} from './rehearsal.ts';
import { type PlayedEnvelope, playedEnvelopes } from './triggers/envelopes.ts';
import { Triggers } from './triggers/triggers.ts';

/**
 * What rules look at. A rehearsal, no longer than takes a moment, is played when a rule first asks for it.
 * @param of as for {@link outsetOf}.
 */
export function contextOf(of: Patch | Prepared, tolerance = 0): Context {
  return contextFrom(outsetOf(of, tolerance), undefined);
}

/**
 * The same for rules that look at pulses more often than at sound, as at the corners of what may be off: what leads to
 * trigger inputs is played by itself, and the whole only once a rule asks what is heard.
 */
export function pulseContextOf(of: Patch | Prepared, tolerance = 0): Context {
  const outset = outsetOf(of, tolerance);
  const listener = once(() => listenerFor(outset));
  const rehearsal = once(() => rehearse(outset.prepared, listener()));
  const pulses = once(() => rehearsePulses(outset.prepared, listener()));
  return contextWith(outset, rehearsal, pulses);
}

/** The same, with what a listener heard of the patch; without that, it is played once a rule asks. */
export function contextFrom(outset: Outset, heard: Rehearsal | undefined): Context {
  const rehearsal = once(() => heard ?? rehearse(outset.prepared, listenerFor(outset)));
  return contextWith(outset, rehearsal, rehearsal);
}

function contextWith(
  outset: Outset,
  rehearsal: () => Rehearsal | undefined,
  pulses: () => HeardPulses | undefined,
): Context {
  const { patch, netlist } = outset;
  const triggers = new Triggers(outset, pulses);
  const envelopes = once((): readonly PlayedEnvelope[] =>
    playedEnvelopes(patch, netlist, triggers),
  );
  const fine = once(
    () =>
      new Triggers(
        outset,
        once(() => finePulses(outset)),
        FINE_RATE,
      ),
  );
  return { ...outset, triggers, fineTriggers: fine, rehearsal, envelopes };
}

/** Played at the highest rate that there is, and counted at {@link FINE_RATE}. */
function finePulses(outset: Outset): HeardPulses | undefined {
  const heard = rehearsePulses(outset.prepared, listenerFor(outset), FINEST_PLAYED);
  const finer = FINE_RATE / FINEST_PLAYED;
  const pulses = [...(heard?.pulses ?? [])].map(
    ([jack, all]) =>
      [jack, all.map(({ start, end }) => ({ start: finer * start, end: finer * end }))] as const,
  );
  return heard && { ...heard, pulses: new Map(pulses) };
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
