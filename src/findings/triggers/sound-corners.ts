/**
 * Corners at which volts move as far as they may, or as little: for what is heard, and what volts open and move.
 *
 * A level that goes further the further a wire's does is tried at that end alone. Of a wire that may do the opposite,
 * such as one behind an attenuator below 0 % or one that moves a cutoff, both ends are tried, and of all that starts and
 * ends something, both ends together.
 *
 * Deviation: once there are 16 corners, one end is kept of the wires that are left, the farthest ones.
 */

import type { Net, Netlist } from '../../electrical/nets.ts';
import type { InputJack, OutputJack } from '../../modules/definition.ts';
import type { DoubtfulFact } from '../../modules/facts.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import type { Context, Finding } from '../finding.ts';
import { foundOrAt } from './at-worst.ts';
import { contextAt, type Off, offBy } from './corners.ts';
import { netsInto } from './nets-into.ts';

const MOST_CORNERS = 16;
/** What moves a level, of either sort of jack. */
const OF_LEVELS: readonly DoubtfulFact[] = ['low', 'high', 'ohms', 'rest'];

const WIDE: Off = { way: 'wide', rise: -1 };
const NARROW: Off = { way: 'narrow', rise: 1 };
const LONG: Off = { way: 'long', rise: 1 };
const SHORT: Off = { way: 'short', rise: -1 };

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
  for (const [net, sorts] of reached) {
    if (!doubtful.has(net)) continue;
    if (sorts.has('starts')) started.push(net);
    else if (own.has(net) && others.has(net)) tryBoth([net], [there, other]);
    else if (others.has(net)) tryBoth([net], sorts.has('any') ? [other, there] : [other]);
    else if (sorts.has('any')) tryBoth([net], [there, other]);
  }
  tryBoth(started, [LONG, SHORT]);
  return corners.map((offs) => contextAt(offs, there, context));
}

/** The jacks at which a patch is heard. */
export function outputJacks({ modules }: Patch): readonly JackRef[] {
  return modules
    .filter(({ definition }) => definition.role === 'output')
    .flatMap(({ name }) => ['left', 'right'].map((jack) => ({ module: name, jack })));
}

/** What the volts of a wire do to those at a jack: take them further, or anything, or start and end something. */
type Sort = 'same' | 'any' | 'starts';

/** The wires that volts at jacks hang on, the nearest first, and what they do to them. */
function behind(
  jacks: readonly JackRef[],
  { netlist }: Context,
): ReadonlyMap<Net, ReadonlySet<Sort>> {
  const found = new Map<Net, Set<Sort>>();
  const left: { net: Net; sort: Sort }[] = jacks.flatMap((jack) => {
    const net = netlist.at(jack);
    return net === undefined ? [] : [{ net, sort: 'same' }];
  });
  for (let next = left.shift(); next !== undefined; next = left.shift()) {
    const { net, sort } = next;
    const sorts = found.get(net) ?? new Set();
    if (sorts.has(sort)) continue;
    found.set(net, sorts.add(sort));
    for (const output of net.outputs)
      for (const { net: before, turns, isTrigger } of netsInto(output, netlist)) {
        const isStarting = isTrigger || sort === 'starts';
        const isAny = sort === 'any' || turns !== undefined;
        left.push({ net: before, sort: isStarting ? 'starts' : isAny ? 'any' : 'same' });
      }
  }
  return found;
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
