/** Slow edges, where a rack states them: what makes an input go on sooner. */

import { comparator } from '../../modules/comparator.ts';
import type { NumberSpec } from '../../modules/definition.ts';
import { type JackRef, jackName } from '../../patch/patch.ts';
import { formatBriefly } from '../../patch/units.ts';
import type { Context } from '../finding.ts';
import { spare } from '../mend/what-helps.ts';
import { cornersAt } from './corners.ts';
import { crossedAt, edgeAt, lateAt, shareOf } from './lateness.ts';

export interface SlowEdge {
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

/** The edges at an input; undefined where the rack gives no rise time of what drives it. */
export function slowEdgeAt(jack: JackRef, context: Context): SlowEdge | undefined {
  const edge = edgeAt(jack, context);
  if (edge === undefined) return undefined;
  const { low, step } = edge;
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
  // In tenths of a volt. The lower it is, the longer the fall takes to come to it.
  const least = Math.max(2, Math.round(10 * (low + EARLY * step)));
  const most = Math.min(10 * HIGHEST, Math.floor(10 * (low + LATE * step)));
  let tenths = least;
  while (tenths <= most && !keepsApart(tenths / 10)) tenths += 1;
  const isApart = tenths <= most;
  const threshold = (isApart ? tenths : least) / 10;
  return {
    isApart,
    threshold,
    early: lateAt(threshold + HALF_HYSTERESIS, edge),
  };
}

/** What to do about it, a sentence without its full stop. */
export function comparatorFor(
  { threshold, early }: SlowEdge,
  jack: JackRef,
  { patch }: Context,
): string {
  const volts = formatBriefly(threshold, 'voltage');
  const time = formatBriefly(Number(early.toPrecision(3)), 'time');
  const module = patch.modules.find(({ name }) => name === jack.module);
  const crossed = module && crossedAt(module, jack.jack);
  if (module !== undefined && crossed !== undefined)
    return `Set ${crossed.setting} of ${module.name} to ${volts}, at which it goes on ${time} after the edge begins`;
  const has = spare(comparator, { threshold }, patch) !== undefined;
  return (
    `Put a comparator in front of ${jackName(jack)}, its threshold at ${volts}, which goes on ${time} after the edge begins` +
    (has ? '' : ' (the rack has none to spare, or no cable for it)')
  );
}
