/**
 * Corners at which volts move as far as they may, or as little: for what is heard, and what volts open and move.
 *
 * A level that goes further the further a wire's does is tried at that end alone. Of a wire that may do the opposite,
 * such as one behind an attenuator below 0 % or one that moves a cutoff, both ends are tried, and of all that starts and
 * ends something, both ends together; of none of it, where its edges come at the same samples at either.
 *
 * Wires that work by the same inputs alone, such as those in a row towards a cutoff, are at one end together: what
 * reaches that input is then at an end too.
 *
 * Deviation: where what is found hangs on a value between these ends, or on wires of such a row that are at opposite
 * ends, it is missed.
 * Deviation: once there are 16 corners, one end is kept of the wires that are left, the farthest ones.
 */

import type { Net, Netlist } from '../../electrical/nets.ts';
import type { InputJack, OutputJack } from '../../modules/definition.ts';
import type { DoubtfulFact } from '../../modules/facts.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import type { Context, Finding } from '../finding.ts';
import { foundOrAt } from './at-worst.ts';
import { contextAt, type Off, offBy, timedNets } from './corners.ts';
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
    const ends = isAny ? [from, from === there ? other : there] : [from];
    const key = [isShared, from === there, isAny, ...[...by].sort()].join(' ');
    const group = groups.get(key) ?? { nets: [], ends };
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

/** The wires that volts at jacks hang on, the nearest first, and what they do to them. */
function behind(jacks: readonly JackRef[], { netlist }: Context): ReadonlyMap<Net, Sway> {
  const found = new Map<Net, Sway>();
  const left: { net: Net; sort: 'same' | 'any' | 'starts'; by: string }[] = jacks.flatMap(
    (jack) => {
      const net = netlist.at(jack);
      return net === undefined ? [] : [{ net, sort: 'same', by: '' }];
    },
  );
  for (let next = left.shift(); next !== undefined; next = left.shift()) {
    const { net, sort, by } = next;
    const sway: Sway = found.get(net) ?? { sorts: new Set(), by: new Set(), starting: new Set() };
    found.set(net, sway);
    const ways = sort === 'starts' ? sway.starting : sway.by;
    const isKnown = sway.sorts.has(sort) && (sort === 'starts' || ways.has(by));
    sway.sorts.add(sort);
    ways.add(by);
    if (isKnown) continue;
    for (const output of net.outputs)
      for (const into of netsInto(output, netlist)) {
        const { net: before, input, turns, isScaled, isTrigger } = into;
        const name = `${output.module.name}.${input}`;
        if (isTrigger || sort === 'starts') left.push({ net: before, sort: 'starts', by: name });
        else if (turns === undefined || isScaled) left.push({ net: before, sort, by });
        else left.push({ net: before, sort: 'any', by: name });
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
