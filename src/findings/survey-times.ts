/**
 * How certain the times at trigger inputs are: whether each pulse lasts as long as the input asks for, and
 * whether a slow edge comes to it before that is heard. Both as the check works them out, at its corners.
 *
 * Pulses that only playing the patch tells are played, as the check plays them at its corners. Where a rack gives their
 * width, one by itself tells as much.
 *
 * Deviation: at an input that nothing comes to in what is played, nothing is timed; `untimedOf` names it.
 */

import { type Prepared, prepared } from '../engine/prepared.ts';
import { USUAL_RATE } from '../engine/usual-rate.ts';
import { smallest } from '../modules/dsp/extremes.ts';
import { type JackRef, jackName, jackNamed, type Patch } from '../patch/patch.ts';
import type { Context } from './finding.ts';
import {
  contextWithin,
  holdsUntil,
  STEPS,
  type TimePoint,
  type VoltsPoint,
} from './survey-point.ts';
import { contextAt, cornersAt } from './triggers/corners.ts';
import { latenessAt, latestAt } from './triggers/lateness.ts';
import { APART } from './triggers/swing-apart.ts';
import type { Train } from './triggers/triggers.ts';

type Pulses = Pick<Train, 'pulses' | 'needed'>;

/** What comes of a time: it is within its limit, or not, or nothing fires at all. */
type Outcome = 'fine' | 'fails' | 'silent';

/**
 * The times that fail before the volts at their inputs do; those that do not are sure as long as anything fires.
 * @param volts the survey of the volts.
 */
export function timesOf(all: Prepared, volts: readonly VoltsPoint[]): readonly TimePoint[] {
  const context = contextWithin(all, 0);
  return volts.flatMap((point) => [
    ...widthAt(all, point, pulsesAt(all, refOf(all, point.jack), context)),
    ...latenessPoint(all, point, context),
  ]);
}

/** The trigger inputs whose pulses are not timed: only playing the patch tells them, and none came in what was played. */
export function untimedOf(of: Patch | Prepared): readonly string[] {
  const all = prepared(of);
  const context = contextWithin(all, 0);
  return [...namesToBeHeard(context)].filter(
    (jack) => (pulsesAt(all, refOf(all, jack), context)?.pulses ?? []).length === 0,
  );
}

function widthAt(
  all: Prepared,
  { jack, drivers, on, off, holds }: VoltsPoint,
  train: Pulses | undefined,
): readonly TimePoint[] {
  if (train === undefined || train.pulses.length === 0) return [];
  const until = failsAt(all, 'width', jack, holds);
  if (until === undefined) return [];
  const time = smallest(train.pulses.map(({ start, end }) => end - start)) / USUAL_RATE;
  const limit = train.needed / USUAL_RATE;
  return [{ measure: 'width', jack, drivers, on, off, time, limit, holds: until }];
}

function latenessPoint(
  all: Prepared,
  { jack, drivers, on, off, holds }: VoltsPoint,
  context: Context,
): readonly TimePoint[] {
  const ref = refOf(all, jack);
  const late = latenessAt(ref, context);
  const input = context.netlist
    .at(ref)
    ?.inputs.find((one) => one.module.name === ref.module && one.jack.name === ref.jack);
  // What comes late by the edges before it is told where they come in, and an end that is late is no late hit.
  if (late?.edge === undefined || input?.jack.rise === 'ends') return [];
  const until = failsAt(all, 'lateness', jack, holds);
  if (until === undefined) return [];
  const { sum: time } = late;
  return [{ measure: 'lateness', jack, drivers, on, off, time, limit: APART, holds: until }];
}

/** How far a time holds; undefined where the volts fail no later. @param volts how far these hold. */
function failsAt(
  all: Prepared,
  measure: TimePoint['measure'],
  jack: string,
  volts: number | undefined,
): number | undefined {
  const isFine = (step: number): boolean => isFineAt(all, measure, jack, step);
  if (volts !== undefined && isFine(Math.round(volts * STEPS))) return undefined;
  const holds = holdsUntil(isFine, 0);
  if (holds === undefined) return undefined;
  const step = Math.round(holds * STEPS);
  const first = isFine(step) ? step + 1 : step;
  return outcomeAt(all, measure, jack, first) === 'fails' ? holds : undefined;
}

/** Whether a time is within its limit at an input, with everything off by up to so many steps of a share. */
export function isFineAt(
  all: Prepared,
  measure: TimePoint['measure'],
  jack: string,
  step: number,
): boolean {
  return outcomeAt(all, measure, jack, step) === 'fine';
}

function outcomeAt(
  all: Prepared,
  measure: TimePoint['measure'],
  jack: string,
  step: number,
): Outcome {
  const context = contextWithin(all, step);
  const ref = refOf(all, jack);
  if (measure === 'lateness') {
    const sum = latestAt(ref, context)?.sum ?? 0;
    if (sum === Number.POSITIVE_INFINITY) return 'silent';
    return sum < APART ? 'fine' : 'fails';
  }
  const outcomes = shortCorners(all, ref, context).map((corner): Outcome => {
    const train = pulsesAt(all, ref, corner);
    if (train === undefined) return 'silent';
    return train.pulses.some(({ start, end }) => end - start < train.needed) ? 'fails' : 'fine';
  });
  if (outcomes.includes('fails')) return 'fails';
  return outcomes.includes('silent') ? 'silent' : 'fine';
}

/** Whether only playing would tell which pulses come to an input, but not how long they are, since a rack does. */
export function isMeasured(all: Prepared, jack: JackRef): boolean {
  const context = contextWithin(all, 0);
  return isPlayed(all, jack) && context.triggers.measuredPulse(jack) !== undefined;
}

function isPlayed(all: Prepared, jack: JackRef): boolean {
  return namesToBeHeard(contextWithin(all, 0)).has(jackName(jack));
}

/** The corners at which the pulses at an input are as short as they may be. */
function shortCorners(all: Prepared, jack: JackRef, context: Context): readonly Context[] {
  if (isMeasured(all, jack))
    return ([1, -1] as const).map((rise) => contextAt(new Map(), { way: 'short', rise }, context));
  const corners = cornersAt(jack, 'short', context);
  // Where nothing may be off, all is as it stands.
  return corners.length > 0 ? corners : [contextWithin(all, 0)];
}

/** The pulses at an input in a context, which may be that of a corner; undefined if none fires it, or none is known. */
function pulsesAt(all: Prepared, jack: JackRef, context: Context): Pulses | undefined {
  if (isMeasured(all, jack)) return context.triggers.measuredPulse(jack);
  // At a corner where an input before it does not fire, only playing would tell what comes: it is not worth that.
  const isLost = namesToBeHeard(context).has(jackName(jack)) && !isPlayed(all, jack);
  return isLost ? undefined : context.triggers.at(jack);
}

function namesToBeHeard({ triggers }: Context): ReadonlySet<string> {
  return new Set(
    triggers
      .toBeHeard()
      .map(({ module, jack }) => jackName({ module: module.name, jack: jack.name })),
  );
}

function refOf({ patch }: Prepared, jack: string): JackRef {
  const ref = jackNamed(patch, jack);
  if (ref === undefined) throw new Error(`no jack ${jack}`);
  return ref;
}
