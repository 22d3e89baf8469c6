/** A plan in words, and as the data of a finding. */

import type { Unit } from '../../patch/rack/rack.ts';
import type { Context } from '../finding.ts';
import { capitalised } from '../words.ts';
import { isFree, type PlanMove } from './move.ts';
import { planFor, type RackPlan, unitsIn } from './plan.ts';
import type { WayFound } from './search.ts';
import { byVoltageText } from './trigger-moves.ts';
import type { WayOut, WayOutStep } from './way-out.ts';

/**
 * The ways out of a rack that is short, the cheapest first; none where nothing helps.
 * @param kind what is short, for where nothing helps the patch as a whole.
 */
export function waysOut(kind: string, context: Context): readonly WayOut[] {
  const plan = planFor(context);
  if (plan === undefined) return [];
  const { withOneMore, leaving, rack } = plan;
  const { cheapest } = plan;
  const part = cheapest === undefined && leaving === undefined ? plan.forKind(kind) : undefined;
  const told = (way: WayOut['way'], found: WayFound, unit?: Unit): WayOut => {
    const on = unit === undefined ? rack : { ...rack, units: [...rack.units, unit] };
    const steps = found.moves.map((move) => stepOf(move, found, on, context));
    return { way, get: unit?.definition.kind ?? null, steps, cost: found.cost };
  };
  const isLeaving =
    leaving !== undefined &&
    (cheapest === undefined || (!isFree(cheapest.cost) && !isSame(leaving, cheapest)));
  return [
    ...(cheapest === undefined ? [] : [told('cheapest', cheapest)]),
    ...(part === undefined ? [] : [told('part', part)]),
    ...withOneMore.map(({ unit, way }) => told('one-more', way, unit)),
    ...(isLeaving ? [told('leave-out', leaving)] : []),
  ];
}

function isSame(a: WayFound, b: WayFound): boolean {
  const changes = new Set(b.moves.map(({ change }) => change));
  return a.moves.length === b.moves.length && a.moves.every(({ change }) => changes.has(change));
}

function stepOf(
  move: PlanMove,
  way: WayFound,
  rack: RackPlan['rack'],
  context: Context,
): WayOutStep {
  const units = unitsIn(way, rack);
  const text =
    move.action === 'trigger-by-voltage'
      ? byVoltageText(
          move.modules,
          move.modules.flatMap((name) => units.get(name)?.name ?? []),
          context,
        )
      : move.text;
  return { action: move.action, modules: move.modules, text, cost: move.costText ?? null };
}

/**
 * Says the ways out.
 * @returns sentences for the end of a finding; none where nothing helps.
 */
export function saidWays(ways: readonly WayOut[], context: Context): readonly string[] {
  return ways.map((way, index) => {
    const said = sentence(way, planFor(context));
    return index === 0 ? capitalised(said) : `Or ${said}`;
  });
}

function sentence(way: WayOut, plan: RackPlan | undefined): string {
  if (way.way === 'one-more')
    return way.steps.length === 0
      ? `get one more ${way.get}.`
      : `get one more ${way.get}; then ${steps(way)}. Every hit sounds as written.`;
  if (way.way === 'leave-out') return `${steps(way)}.${costs(way)}`;
  const reach =
    way.way === 'part'
      ? ' The rest stays short.'
      : (plan?.lacking ?? 0) > 1
        ? ' Then all of the patch is on the rack.'
        : '';
  return `${steps(way)}.${reach}${costs(way)}`;
}

function steps({ steps: all }: WayOut): string {
  return all.map(({ text }) => text).join('; ');
}

function costs({ steps: all, cost }: WayOut): string {
  const words = all.flatMap((step) => (step.cost === null ? [] : [step.cost]));
  if (isFree(cost)) return ' Every hit sounds as written.';
  return ` What it costs, once through the song: ${words.join('; ')}.`;
}
