/**
 * Slow edges, where a rack states them: how late an input goes on, and what makes it go on sooner.
 *
 *   late = rise / ln 9 x ln(1 / (1 - share)),  share = (threshold - low) / (high - low)
 *
 * Source: the rise of one resistance and capacitance: OutputStage in src/modules/facts.ts.
 */

import type { Net } from '../../electrical/nets.ts';
import { comparator } from '../../modules/comparator.ts';
import type { NumberSpec } from '../../modules/definition.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { type JackRef, jackName } from '../../patch/patch.ts';
import { formatBriefly } from '../../patch/units.ts';
import type { Context } from '../finding.ts';
import { spare } from '../mend/what-helps.ts';
import { cornersAt } from './corners.ts';

export interface SlowEdge {
  /** From 10 to 90 %, s. */
  readonly rise: number;
  /** s from where the edge begins until the input goes on; infinity if it never does. */
  readonly late: number;
  /** The same at the worst of all that may be off. */
  readonly latest: number;
  /** V at which a comparator in front of it goes on early, and after how many s. */
  readonly threshold: number;
  readonly early: number;
  /** Whether that comparator goes off before each next hit, as far as that is known. */
  readonly isApart: boolean;
}

/** Share of the step at which a comparator is set: over what noise and ripple leave at rest. Common practice, no source. */
const EARLY = 0.1;
/** Share of the step over which it would go on only where a pulse lasts many times its rise. */
const LATE = 0.9;
/** V; the most that a comparator is set to. */
const HIGHEST = (comparator.settings.threshold as NumberSpec).max;
/** V by which a fall must come below the comparator's lower threshold: no cabinet is as exact as its computation. */
const SPARE = 0.1;
/** V; half of what a comparator takes from on to off unless it is set otherwise. */
const HALF_HYSTERESIS = 0.05;

/** What comes by an edge to one input. */
interface EdgeAtInput {
  readonly net: Net;
  readonly rise: number;
  readonly low: number;
  readonly step: number;
  readonly on: number;
}

/** The edges at a trigger input; undefined where the rack gives no rise time of what drives it. */
export function slowEdgeAt(jack: JackRef, context: Context): SlowEdge | undefined {
  const edge = edgeAt(jack, context);
  if (edge === undefined) return undefined;
  const { rise, low, step, on } = edge;
  const longest = [context, ...cornersAt(jack, 'long', context)];
  const keepsApart = (volts: number): boolean =>
    longest.every((corner) => {
      const one = edgeAt(jack, corner);
      if (one === undefined) return true;
      const thresholds = {
        on: shareOf(volts + HALF_HYSTERESIS, one),
        off: shareOf(volts - HALF_HYSTERESIS - SPARE, one),
      };
      return corner.triggers.areApart(one.net, thresholds) !== false;
    });
  const latest = cornersAt(jack, 'short', context).flatMap((corner) => edgeAt(jack, corner) ?? []);
  // In tenths of a volt. The lower it is, the longer the fall takes to come to it.
  const least = Math.max(2, Math.round(10 * (low + EARLY * step)));
  const most = Math.min(10 * HIGHEST, Math.floor(10 * (low + LATE * step)));
  let tenths = least;
  while (tenths <= most && !keepsApart(tenths / 10)) tenths += 1;
  const isApart = tenths <= most;
  const threshold = (isApart ? tenths : least) / 10;
  return {
    isApart,
    rise,
    late: lateAt(on, edge),
    latest: largest([edge, ...latest].map((one) => lateAt(one.on, one))),
    threshold,
    early: lateAt(threshold + HALF_HYSTERESIS, edge),
  };
}

function edgeAt(jack: JackRef, { netlist, levels }: Context): EdgeAtInput | undefined {
  const net = netlist.at(jack);
  const [output, ...others] = net?.outputs ?? [];
  const rise = output?.jack.facts.stage?.rise ?? 0;
  const known = net && levels.get(net);
  const trigger = known?.inputs.find(
    ({ terminal }) => terminal.module.name === jack.module && terminal.jack.name === jack.jack,
  )?.trigger;
  if (rise === 0 || others.length > 0 || known === undefined || trigger?.type !== 'voltage')
    return undefined;
  const { low } = known;
  return { net: known.net, rise, low, step: trigger.driven - low, on: trigger.on };
}

function shareOf(volts: number, { low, step }: EdgeAtInput): number {
  return (volts - low) / step;
}

/** s from where an edge begins until it comes to some volts; infinity if it never does. */
function lateAt(volts: number, edge: EdgeAtInput): number {
  const share = shareOf(volts, edge);
  if (share >= 1) return Number.POSITIVE_INFINITY;
  return share <= 0 ? 0 : (-Math.log1p(-share) * edge.rise) / Math.log(9);
}

/** What to do about it, a sentence without its full stop. */
export function comparatorFor(
  { threshold, early }: SlowEdge,
  jack: JackRef,
  { patch }: Context,
): string {
  const volts = formatBriefly(threshold, 'voltage');
  const time = formatBriefly(Number(early.toPrecision(3)), 'time');
  const has = spare(comparator, { threshold }, patch) !== undefined;
  return (
    `Put a comparator in front of ${jackName(jack)}, its threshold at ${volts}, which goes on ${time} after the edge begins` +
    (has ? '' : ' (the rack has none to spare, or no cable for it)')
  );
}
