/**
 * The ways out of a rack that is short, over the whole patch: the cheapest with what there is, what one
 * more module would solve, and which voice to leave out first.
 */

import { netLevels, rangesOf } from '../../electrical/levels.ts';
import { netlist } from '../../electrical/nets.ts';
import type { Definition } from '../../modules/definition.ts';
import { multiple } from '../../modules/multiple.ts';
import { triggerConverter } from '../../modules/trigger-converter.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { assign } from '../../patch/rack/assign.ts';
import type { Rack, Unit } from '../../patch/rack/rack.ts';
import { ontoRack } from '../../patch/rack/with-rack.ts';
import { Report } from '../../patch/text/report.ts';
import type { Context } from '../finding.ts';
import { followingMoves } from './following-moves.ts';
import { leavingMoves } from './leaving-moves.ts';
import { isFree, type PlanMove } from './move.ts';
import { offRack } from './off-rack.ts';
import { type WayFound, waysByCost } from './search.ts';
import { sharingMoves } from './sharing-moves.ts';
import { CABLES, type Shortage, shortageOf, total } from './shortage.ts';
import { triggerMoves } from './trigger-moves.ts';
import { isConverter, triggerType } from './trigger-type.ts';
import { plannedVoices } from './voices.ts';

export interface RackPlan {
  readonly rack: Rack;
  /** How many are lacking in all. */
  readonly lacking: number;
  /** With what there is; undefined where nothing helps. */
  readonly cheapest: WayFound | undefined;
  /** All that cost nothing that is heard, what is least to be done first; each is searched for when asked for. */
  readonly free: () => Iterable<WayFound>;
  /** With one module more, and then at no cost that is heard: each kind that would do. */
  readonly withOneMore: readonly { readonly unit: Unit; readonly way: WayFound }[];
  /** By leaving out whole voices, and what costs nothing. */
  readonly leaving: WayFound | undefined;
  /** Where nothing helps all of the patch: what helps for one kind of module, and makes no other short. */
  readonly forKind: (kind: string) => WayFound | undefined;
}

/** If more than these are lacking, a different cabinet is needed, and nothing is worked out. */
const MOST_LACKING = 12;

const known = new WeakMap<Context, RackPlan>();

/** The plan for a patch whose rack is short; undefined for one that has no rack. Worked out once. */
export function planFor(context: Context): RackPlan | undefined {
  const { owned } = context.patch;
  if (owned === undefined) return undefined;
  const found = known.get(context) ?? planOn(context, owned);
  known.set(context, found);
  return found;
}

function planOn(context: Context, rack: Rack): RackPlan {
  const before = offRack(context.patch, rack);
  const shortage = shortageOf(before, rack);
  const lacking = total(shortage);
  if (lacking > MOST_LACKING)
    return {
      rack,
      lacking,
      cheapest: undefined,
      free: () => [],
      withOneMore: [],
      leaving: undefined,
      forKind: () => undefined,
    };
  const voices = plannedVoices(context);
  const leaving = leavingMoves(context, voices);
  const all = [
    ...triggerMoves(context),
    ...followingMoves(context),
    ...sharingMoves(context, voices),
    ...leaving,
  ];
  const free = all.filter(({ cost }) => isFree(cost));
  const searchAll = (
    moves: readonly PlanMove[],
    on: Rack,
    lackOf: (patch: Patch) => Shortage,
  ): Iterable<WayFound> =>
    waysByCost(
      before,
      lackOf,
      moves,
      (patch) => isHeard(patch) && firesAsBefore(before, patch, on),
    );
  const search = (
    moves: readonly PlanMove[],
    on: Rack = rack,
    lackOf = (patch: Patch): Shortage => shortageOf(patch, on),
    mayAlter = true,
  ): WayFound | undefined => {
    const [first] = searchAll(moves, on, lackOf);
    // What costs nothing alone may alter hits beside another.
    return mayAlter || first?.cost.alteredHits === 0 ? first : undefined;
  };
  const cheapest = search(all);
  const isEnough = cheapest !== undefined && isFree(cheapest.cost);
  return {
    rack,
    lacking,
    cheapest,
    free: () => freeOf(searchAll(free, rack, (patch) => shortageOf(patch, rack))),
    withOneMore: isEnough
      ? []
      : oneMore(shortage, rack, context, (on) => search(free, on, undefined, false)),
    leaving: search(
      [...free, ...leaving.filter(({ action }) => action === 'leave-out')],
      rack,
      undefined,
      false,
    ),
    forKind: (kind) =>
      search(all, rack, (patch) => lackOfOne(kind, shortage, shortageOf(patch, rack))),
  };
}

/** The first of some ways that cost nothing. */
function* freeOf(ways: Iterable<WayFound>): Generator<WayFound> {
  for (const way of ways) {
    if (!isFree(way.cost)) return;
    yield way;
  }
}

/** What is lacking of one kind, and what more than before of the others. */
function lackOfOne(kind: string, before: Shortage, now: Shortage): Shortage {
  return new Map(
    [...now].flatMap(([one, count]): [string, number][] => {
      const more = one === kind ? count : count - (before.get(one) ?? 0);
      return more > 0 ? [[one, more]] : [];
    }),
  );
}

/** Whether anything is left that is heard. */
function isHeard({ modules, cables }: Patch): boolean {
  const outputs = modules.filter(({ definition }) => definition.role === 'output');
  return cables.some(({ to }) => outputs.some(({ name }) => name === to.module));
}

/** The modules one of which would do: of the kinds that are lacking and of those that stand in for them. */
function oneMore(
  shortage: ReadonlyMap<string, number>,
  rack: Rack,
  { patch }: Context,
  search: (on: Rack) => WayFound | undefined,
): RackPlan['withOneMore'] {
  const definitions = [...patch.modules, ...rack.units].map(({ definition }) => definition);
  const kinds = [...shortage.keys()].filter((kind) => kind !== CABLES);
  if (kinds.length === 0) return [];
  const lacking = patch.modules.filter(({ definition }) => kinds.includes(definition.kind));
  const fired = patch.modules.filter(({ definition }) => triggerType(definition) !== undefined);
  const wanted = [
    ...kinds,
    ...(lacking.some(({ definition, jacks }) => isConverter(definition, jacks))
      ? fired.map(({ definition }) => definition.kind)
      : []),
    // Behind one, an envelope that waits for a switch stands in for one that takes voltage.
    ...(lacking.some((module) => fired.includes(module)) ? [triggerConverter.kind] : []),
    multiple.kind,
  ];
  return [...new Set(wanted)].flatMap((kind) => {
    const definition = [...definitions, multiple, triggerConverter].find(
      (one) => one.kind === kind,
    );
    if (definition === undefined) return [];
    const unit = another(definition, rack);
    const way = search({ ...rack, units: [...rack.units, unit] });
    return way === undefined ? [] : [{ unit, way }];
  });
}

function another(definition: Definition, rack: Rack): Unit {
  return {
    name: `another ${definition.kind}`,
    definition,
    count: 1,
    place: { file: rack.file, line: 1, column: 1, length: 1 },
    fixed: definition.role === 'passive' ? { jacks: 16 } : {},
    fixedWords: new Map(),
    has: new Map(),
    jacks: new Map(),
    dials: new Map(),
  };
}

/** Whether every trigger that fires before still does, by the volts of the units that it is then. */
function firesAsBefore(before: Patch, after: Patch, rack: Rack): boolean {
  const report = new Report();
  const [was, now] = [before, after].map((patch) => failing(ontoRack(patch, rack, report)));
  return [...(now ?? [])].every((jack) => was?.has(jack));
}

function failing(patch: Patch): ReadonlySet<string> {
  const list = netlist(patch);
  const ranges = rangesOf(patch, list, 0);
  return new Set(
    list.nets.flatMap((net) =>
      netLevels(net, ranges).inputs.flatMap(({ terminal: { module, jack }, trigger }) =>
        trigger !== undefined && (trigger.margin < 0 || trigger.release < 0)
          ? [jackName({ module: module.name, jack: jack.name })]
          : [],
      ),
    ),
  );
}

/** The units that modules are in a way found. */
export function unitsIn({ patch }: WayFound, rack: Rack): ReadonlyMap<string, Unit> {
  return assign(patch.modules, patch.cables, rack);
}
