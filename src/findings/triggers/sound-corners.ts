/**
 * Corners at which volts move as far as they may, or as little: for what is heard, and what volts open and move.
 *
 * A wire that only takes a level further, as it goes further itself, is tried at that end alone. Of a wire that may do
 * the opposite, such as one behind an attenuator below 0 % or one that moves a cutoff, both ends are tried. The wires
 * that start and end something are tried together at both ends, unless their edges come at the same samples at either.
 *
 * Wires that work by the same inputs alone, such as those in a row towards a cutoff, are at one end together. Where
 * one drives the next, gains a and b make a b v of volts v, which is at an end where both are. Where they are summed,
 * a v + b w is at an end where both are as long as v and w have one sign; of volts that may have opposite ones,
 * which open or move something, each has an end of its own. A wire of which both levels are in doubt by themselves
 * has four.
 *
 * Deviation: where what is found depends on a value between these ends, it is missed.
 * Deviation: once there are 16 corners, one end is kept of the wires that are left, the farthest ones.
 */

import type { Net, Netlist, Terminal } from '../../electrical/nets.ts';
import type { InputJack, Jack, OutputJack } from '../../modules/definition.ts';
import type { DoubtfulFact } from '../../modules/facts.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import type { Context, Finding } from '../finding.ts';
import { foundOrAt } from './at-worst.ts';
import { contextAt, type Off, offBy, timedNets } from './corners.ts';
import { type NetInto, netsInto } from './nets-into.ts';

const MOST_CORNERS = 16;
/** What moves a level, of either sort of jack. */
const OF_LEVELS: readonly DoubtfulFact[] = ['low', 'high', 'ohms', 'rest'];
const OF_BOTH: readonly DoubtfulFact[] = ['low', 'high'];

const WIDE: Off = { way: 'wide', rise: -1 };
const NARROW: Off = { way: 'narrow', rise: 1 };
const LONG: Off = { way: 'long', rise: 1 };
const SHORT: Off = { way: 'short', rise: -1 };

const ALL: readonly Off[] = [WIDE, NARROW, LONG, SHORT];

/** The ends of what may be off: volts that move as far as may be, or as little; levels as high as may be, or as low. */
const ENDS = {
  wide: [WIDE, NARROW],
  narrow: [NARROW, WIDE],
  up: [LONG, SHORT],
  down: [SHORT, LONG],
} as const satisfies Readonly<Record<string, readonly [Off, Off]>>;

/**
 * What is wrong at the volts that a jack gets, or else at the first corner of what they may be where anything is.
 * @param find what is wrong at a jack in a context, which may be that of a corner.
 */
export function foundAtVolts(
  jack: JackRef,
  way: keyof typeof ENDS,
  context: Context,
  find: (jack: JackRef, context: Context) => readonly Finding[],
): readonly Finding[] {
  return foundOrAt(
    context,
    () => cornersOfVolts([jack], way, context),
    (here) => find(jack, here),
  );
}

/**
 * The corners at which the volts at some jacks are at an end of what they may be.
 * @param apart jacks, if any, that are to move the other way, with what leads to them alone.
 * @returns none where the rack states no doubt of anything on the way to them.
 */
export function cornersOfVolts(
  jacks: readonly JackRef[],
  way: keyof typeof ENDS,
  context: Context,
  apart: readonly JackRef[] = [],
): readonly Context[] {
  const doubtful = doubtfulNets(context);
  if (doubtful.size === 0) return [];
  const reached = behind([...jacks, ...apart], context);
  if (![...reached.keys()].some((net) => doubtful.has(net))) return [];
  const [there, other] = ENDS[way];
  const own = behind(jacks, context);
  const others = behind(apart, context);
  let corners: readonly ReadonlyMap<Net, Off>[] = [new Map()];
  const tryBoth = (nets: readonly Net[], ends: readonly Off[]): void => {
    if (nets.length === 0 || corners.length >= MOST_CORNERS) return;
    corners = corners.flatMap((corner) =>
      ends.map((end) => new Map([...corner, ...nets.map((net): [Net, Off] => [net, end])])),
    );
  };
  const started: Net[] = [];
  // Wires that work by the same inputs alone take what these do to its ends together.
  const groups = new Map<string, { readonly nets: Net[]; readonly ends: readonly Off[] }>();
  for (const [net, { sorts, by, starting }] of reached) {
    if (!doubtful.has(net)) continue;
    if (sorts.has('starts') && !isSteep(net, starting, context)) {
      started.push(net);
      continue;
    }
    if (by.size === 0) continue;
    const isShared = own.has(net) && others.has(net);
    const isAny = isShared || sorts.has('any');
    const from = others.has(net) && !isShared ? other : there;
    if (!isAny && from === there) continue;
    const isFree = isAny && net.outputs.some(hasTwoDoubts);
    const both = [from, from === there ? other : there];
    const ends = isFree ? [...both, ...ALL.filter((end) => !both.includes(end))] : both;
    const key = [isShared, from === there, isAny, isFree, ...[...by].sort()].join(' ');
    const group = groups.get(key) ?? { nets: [], ends: isAny ? ends : [from] };
    group.nets.push(net);
    groups.set(key, group);
  }
  for (const { nets, ends } of groups.values()) tryBoth(nets, ends);
  tryBoth(started, [LONG, SHORT]);
  return corners.map((offs) => contextAt(offs, there, context));
}

/**
 * Whether pulses come at the same samples by a net, whatever of it is off: only their volts then differ.
 * @param starting the inputs on it that they start something by.
 */
function isSteep(net: Net, starting: ReadonlySet<string>, context: Context): boolean {
  if (timedNets(context).has(net)) return false;
  return (context.levels.get(net)?.inputs ?? []).every(
    ({ terminal: { module, jack }, trigger }) =>
      !starting.has(`${module.name}.${jack.name}`) ||
      (trigger !== undefined && trigger.margin > 0 && trigger.release > 0),
  );
}

/** The jacks at which a patch is heard. */
export function outputJacks({ modules }: Patch): readonly JackRef[] {
  return modules
    .filter(({ definition }) => definition.role === 'output')
    .flatMap(({ name }) => ['left', 'right'].map((jack) => ({ module: name, jack })));
}

/** What the volts of a wire do to those at some jacks. */
interface Sway {
  /** Whether they take them further, anywhere, or start and end something. */
  readonly sorts: Set<'same' | 'any' | 'starts'>;
  /** The inputs by which they do anything; an empty name where they take them further. */
  readonly by: Set<string>;
  /** The inputs by which they start and end something. */
  readonly starting: Set<string>;
}

/** A wire on the way to jacks, and what it does there. */
interface WayStep {
  readonly net: Net;
  readonly sort: 'same' | 'any' | 'starts';
  readonly by: string;
  /** Whether it opens or moves what is heard, and is not heard itself. */
  readonly isMoving: boolean;
}

/** The wires that volts at jacks depend on, the nearest first, and what they do to them. */
function behind(jacks: readonly JackRef[], context: Context): ReadonlyMap<Net, Sway> {
  const { netlist } = context;
  const found = new Map<Net, Sway>();
  const known = new Map<Net, Set<string>>();
  const left: WayStep[] = jacks.flatMap((jack) => {
    const net = netlist.at(jack);
    const isMoving = net?.inputs.some((one) => isAt(one, jack) && one.jack.signal !== 'audio');
    return net === undefined ? [] : [{ net, sort: 'same', by: '', isMoving: isMoving === true }];
  });
  for (let next = left.shift(); next !== undefined; next = left.shift()) {
    const { net, sort, by } = next;
    const sway: Sway = found.get(net) ?? { sorts: new Set(), by: new Set(), starting: new Set() };
    found.set(net, sway);
    sway.sorts.add(sort);
    (sort === 'starts' ? sway.starting : sway.by).add(by);
    const done = known.get(net) ?? new Set();
    known.set(net, done);
    const key = sort === 'starts' ? sort : `${sort} ${by} ${next.isMoving}`;
    if (done.has(key)) continue;
    done.add(key);
    for (const output of net.outputs) {
      const all = netsInto(output, netlist);
      for (const into of all) {
        const { net: before, input, turns, isScaled, isTrigger } = into;
        const name = `${output.module.name}.${input}`;
        const isMoving =
          next.isMoving || output.module.jacks.some((jack) => jack.name === input && isMover(jack));
        const isAlike =
          isScaled || (turns === undefined && !(isMoving && areOpposed(all, context)));
        if (isTrigger || sort === 'starts')
          left.push({ net: before, sort: 'starts', by: name, isMoving });
        else if (isAlike) left.push({ net: before, sort, by, isMoving });
        else left.push({ net: before, sort: 'any', by: name, isMoving });
      }
    }
  }
  return found;
}

function isAt({ module, jack }: Terminal<InputJack>, ref: JackRef): boolean {
  return module.name === ref.module && jack.name === ref.jack;
}

function isMover(jack: Jack): boolean {
  return jack.direction === 'in' && jack.signal !== 'audio';
}

/** Whether what an output is made of may have opposite signs, so that one takes away from the other. */
function areOpposed(all: readonly NetInto[], { levels }: Context): boolean {
  if (all.length < 2) return false;
  let [least, most] = [0, 0];
  for (const { net, turns } of all) {
    const { low = 0, high = 0 } = levels.get(net) ?? {};
    const sign = turns === 'always' ? -1 : 1;
    least = Math.min(least, sign * low, sign * high);
    most = Math.max(most, sign * low, sign * high);
  }
  return least < 0 && most > 0;
}

/** Whether its low and its high level are each off by themselves. */
function hasTwoDoubts({ jack: { facts } }: Terminal<OutputJack>): boolean {
  return (
    facts.type !== 'switch' &&
    facts.low !== 0 &&
    OF_BOTH.every((word) => (facts.doubt?.[word] ?? 0) > 0)
  );
}

const doubtfulIn = new WeakMap<Netlist, ReadonlySet<Net>>();

/** Looked for once a patch: in most there are none, and each jack that is asked for would follow its wires in vain. */
function doubtfulNets({ netlist }: Context): ReadonlySet<Net> {
  const known = doubtfulIn.get(netlist) ?? new Set(netlist.nets.filter(isDoubtful));
  doubtfulIn.set(netlist, known);
  return known;
}

function isDoubtful({ outputs, inputs }: Net): boolean {
  const isOff = ({ facts }: InputJack | OutputJack, words: readonly DoubtfulFact[]): boolean =>
    facts.doubt !== undefined && words.some((word) => offBy(facts, word, 0, 0) > 0);
  return (
    outputs.some(({ jack }) => isOff(jack, [...OF_LEVELS, 'width', 'rise'])) ||
    inputs.some(({ jack }) => isOff(jack, [...OF_LEVELS, 'on', 'off', 'shortest']))
  );
}
