/**
 * What arrives at trigger inputs where all that a rack states a tolerance of is off by so much, one way: pulses as
 * short as they may be, or as long. The patch with those facts is worked out like any other, so that what is
 * off at one jack is off behind every module that its pulses go through.
 *
 * From threshold to threshold a pulse is as long as its output gives it, less the way up and more the way down:
 *
 *   w - rise / ln 9 x ln(1 / (1 - on)) + rise / ln 9 x ln(top / off),  on and off in shares of the step
 *
 * It is shortest with thresholds high and the step small. Which end of `rise` is the worse hangs on the
 * thresholds, so both are tried.
 *
 * Deviation: what only a rehearsal tells is not looked at.
 */

import type { Jack } from '../../modules/definition.ts';
import type { Patch } from '../../patch/patch.ts';
import type { Context } from '../finding.ts';
import { outsetOf } from '../outset.ts';
import { type Train, Triggers } from './triggers.ts';

/** As short as they may be, or as long. */
export type Way = 'short' | 'long';

const known: Readonly<Record<Way, WeakMap<Context, readonly Triggers[]>>> = {
  short: new WeakMap(),
  long: new WeakMap(),
};

/**
 * The trains at the input of another one, at their worst.
 * @returns none where the rack states no tolerance that a time hangs on, or nothing is known of the train without playing.
 */
export function trainsAtWorst(train: Train, way: Way, context: Context): readonly Train[] {
  const found = known[way].get(context) ?? triggersAt(way, context);
  known[way].set(context, found);
  const { module, jack } = train.terminal;
  return found.flatMap((one) => one.at({ module: module.name, jack: jack.name }) ?? []);
}

/**
 * The trains whose strokes are as they should be, and at their worst are not: each with those strokes.
 * @param isBad what is looked for.
 */
export function perhaps(
  trains: readonly Train[],
  isBad: (train: Train) => boolean,
  way: Way,
  context: Context,
): readonly Train[] {
  return trains.flatMap((train) => {
    if (isBad(train)) return [];
    const worst = trainsAtWorst(train, way, context).find(isBad);
    return worst === undefined ? [] : [{ ...train, strokes: worst.strokes }];
  });
}

function triggersAt(way: Way, { patch, tolerance }: Context): readonly Triggers[] {
  const jacks = patch.modules.flatMap((module) => module.jacks);
  const doubts = jacks.flatMap((jack) =>
    jack.direction === 'through' ? [] : (jack.facts.doubt ?? []),
  );
  // On an edge that takes its time, levels and thresholds are times too.
  const isSlow = jacks.some(
    (jack) => jack.direction === 'out' && (jack.facts.stage?.rise ?? 0) > 0,
  );
  const isTimed = doubts.some(
    ({ rise, width, shortest }) => isSlow || (rise ?? width ?? shortest) !== undefined,
  );
  if (!isTimed) return [];
  const rises = doubts.some(({ rise }) => rise !== undefined) ? ([-1, 1] as const) : ([1] as const);
  return rises.map((rise) => {
    const off = { times: way === 'short' ? -1 : 1, rise } as const;
    const modules = patch.modules.map((module) => ({
      ...module,
      jacks: module.jacks.map((jack) => jackAt(jack, off)),
    }));
    return new Triggers(
      outsetOf({ ...patch, modules } satisfies Patch, tolerance),
      () => undefined,
    );
  });
}

/** Which way all is off: times and steps, and rises. */
interface Off {
  readonly times: -1 | 1;
  readonly rise: -1 | 1;
}

function jackAt(jack: Jack, { times, rise }: Off): Jack {
  if (jack.direction === 'through' || jack.facts.doubt === undefined) return jack;
  const { doubt } = jack.facts;
  const moved = (value: number, by: number | undefined, sign: number): number =>
    value + sign * (by ?? 0);
  if (jack.direction === 'in') {
    // What is off by so much is not off by as much again.
    const { doubt: _, trigger, ...facts } = jack.facts;
    if (trigger === undefined) return jack;
    const later = trigger.type === 'voltage' ? -times : times;
    const asked = {
      ...trigger,
      on: moved(trigger.on, doubt.on, later),
      off: moved(trigger.off, doubt.off, later),
      shortest: Math.max(0, moved(trigger.shortest, doubt.shortest, -times)),
    };
    return {
      ...jack,
      facts: { ...facts, trigger: asked, ohms: moved(facts.ohms, doubt.ohms, times) },
    };
  }
  const { doubt: _, ...facts } = jack.facts;
  const stage = facts.stage && {
    ...facts.stage,
    rise: Math.max(0, moved(facts.stage.rise, doubt.rise, rise)),
    width: Math.max(0, moved(facts.stage.width, doubt.width, times)),
  };
  if (facts.type === 'switch') return { ...jack, facts: { ...facts, ...(stage && { stage }) } };
  return {
    ...jack,
    facts: {
      ...facts,
      low: moved(facts.low, doubt.low, times),
      high: moved(facts.high, doubt.high, times),
      ohms: moved(facts.ohms, doubt.ohms, -times),
      ...(stage && { stage }),
    },
  };
}
