/**
 * A corner of a patch: each fact at one end of its range, which a rack's tolerance gives where it states one,
 * and the tolerance that is asked for elsewhere. What is worked out or played from it holds for that corner,
 * through every module that the pulses go through.
 *
 * Of the facts at one wire and the inputs that it drives, those that make a pulse shorter belong together
 * whatever is on the wire: thresholds high, the step small, what an input asks for long. Which end of `rise`
 * makes it shorter depends on the thresholds and on the pulse: from the farthest wire on both are tried, and
 * that is kept which makes all pulses there shorter; both are, where neither does. What is turned over on its
 * way (`turns` of a gate law, a gain below 0) is short where what comes in is long; where that is not known, both
 * are tried.
 *
 * Deviation: once there are 32 corners, one end is kept where neither makes all pulses shorter.
 */

import type { Net } from '../../electrical/nets.ts';
import type { InputJack, Jack, OutputJack } from '../../modules/definition.ts';
import type { DoubtfulFact } from '../../modules/facts.ts';
import type { JackRef, Patch } from '../../patch/patch.ts';
import { pulseContextOf } from '../context.ts';
import type { Context } from '../finding.ts';
import { wire } from '../words.ts';
import { netsInto } from './nets-into.ts';

/** Pulses as short as they may be, or as long. */
export type Way = 'short' | 'long';

/**
 * Which way all is off at a wire: what makes its pulses shorter (-1) or longer, or what it carries move farther, or
 * less far; and its rise.
 */
export interface Off {
  readonly way: Way | 'wide' | 'narrow';
  readonly rise: -1 | 1;
}

/** Corners from which on one end of each rise is kept. */
const MOST_CORNERS = 32;

const known = new WeakMap<Context, Map<string, Context>>();

/**
 * The corners at which pulses at an input are as short as they may be, or as long.
 * @returns none where nothing on the way to it may be off that a time depends on.
 */
export function cornersAt(jack: JackRef, way: Way, context: Context): readonly Context[] {
  const wires = wiresBehind(jack, context);
  if (wires.size === 0) return [];
  const last = context.netlist.at(jack);
  const isTurning = [...wires.values()].some((turns) => turns.has(true));
  const at = (offs: Offs): Context => contextAt(offs, { way, rise: 1 }, context);
  let corners: readonly Offs[] = [new Map()];
  for (const [net, turns] of [...wires].reverse()) {
    const ways = [...turns].map((isTurned) => (isTurned ? other(way) : way));
    const rises = riseOff(net, context) > 0 ? ([1, -1] as const) : ([1] as const);
    const isFull = corners.length >= MOST_CORNERS;
    corners = corners.flatMap((corner) => {
      const ends = ways.flatMap((one) =>
        rises.map((rise): Offs => new Map([...corner, [net, { way: one, rise }]])),
      );
      const isPlain = ways.length === 1 && ends.length > 1 && net !== last;
      const stretches = isPlain ? ends.map((end) => stretchesOn(net, at(end), isTurning)) : [];
      const kept = ends.filter((_, i) => !isSurpassed(i, stretches, ways[0] === 'long'));
      return isFull ? kept.slice(0, 1) : kept;
    });
  }
  return corners.map(at);
}

/** How much some wires are off. */
type Offs = ReadonlyMap<Net, Off>;

/**
 * Samples that the pulses last at the inputs of a net and, below 0, those between them; undefined where an input
 * is not one that goes on and off.
 * @param fromStart whether what is before the first counts: it is a pulse, if all is turned over.
 */
function stretchesOn(
  { inputs }: Net,
  { triggers }: Context,
  fromStart: boolean,
): readonly number[] | undefined {
  const all: number[] = [];
  for (const { module, jack } of inputs) {
    const pulses = triggers.at({ module: module.name, jack: jack.name })?.pulses;
    if (pulses === undefined) return undefined;
    let before = fromStart ? 0 : (pulses[0]?.start ?? 0);
    for (const { start, end } of pulses) {
      all.push(before - start, end - start);
      before = end;
    }
  }
  return all;
}

/** Whether another one of two has all stretches shorter, or longer; the first stays where both are alike. */
function isSurpassed(
  index: number,
  stretches: readonly (readonly number[] | undefined)[],
  isLong: boolean,
): boolean {
  const [own, one] = [stretches[index], stretches[1 - index]];
  if (own === undefined || one?.length !== own.length) return false;
  const isNever = (sign: number): boolean =>
    one.every((length, k) => sign * length <= sign * (own[k] as number));
  const sign = isLong ? -1 : 1;
  return isNever(sign) && (index > 0 || !isNever(-sign));
}

/**
 * A patch that is off so much at some of its wires, and in one way at all others; each such corner is worked
 * out once.
 */
export function contextAt(offs: ReadonlyMap<Net, Off>, others: Off, context: Context): Context {
  const corners = known.get(context) ?? new Map<string, Context>();
  known.set(context, corners);
  const apart = [...offs].filter(([, one]) => one.way !== others.way || one.rise !== others.rise);
  const said = ({ way, rise }: Off): string => `${way} ${rise}`;
  const key = [said(others), ...apart.map(([net, off]) => `${wire(net)} ${said(off)}`)].join('\n');
  let corner = corners.get(key);
  if (corner === undefined) {
    const { patch, netlist, tolerance } = context;
    const modules = patch.modules.map((module) => ({
      ...module,
      jacks: module.jacks.map((jack) => {
        const net = netlist.at({ module: module.name, jack: jack.name });
        return jackAt(jack, (net && offs.get(net)) ?? others, tolerance);
      }),
    }));
    corner = pulseContextOf({ ...patch, modules } satisfies Patch);
    corners.set(key, corner);
  }
  return corner;
}

/**
 * The wires on the way to an input at which something may be off that a time depends on, the nearest first, each
 * with whether what comes by it is turned over on its way; both, if it comes in two ways.
 */
export function wiresBehind(jack: JackRef, context: Context): ReadonlyMap<Net, Set<boolean>> {
  const timed = timedNets(context);
  const found = new Map<Net, Set<boolean>>();
  if (timed.size === 0) return found;
  const { netlist } = context;
  const from = netlist.at(jack);
  const left = from === undefined ? [] : [{ net: from, isTurned: false }];
  for (let next = left.shift(); next !== undefined; next = left.shift()) {
    const { net, isTurned } = next;
    const turns = found.get(net) ?? new Set();
    if (turns.has(isTurned)) continue;
    found.set(net, turns.add(isTurned));
    for (const output of net.outputs)
      for (const { net: before, turns } of netsInto(output, netlist)) {
        if (turns !== 'always') left.push({ net: before, isTurned });
        if (turns !== undefined) left.push({ net: before, isTurned: !isTurned });
      }
  }
  return new Map([...found].filter(([net]) => timed.has(net)));
}

const timedIn = new WeakMap<Context, ReadonlySet<Net>>();

/** The nets at which a time depends on something that may be off; without a tolerance often none. */
export function timedNets(context: Context): ReadonlySet<Net> {
  const timed =
    timedIn.get(context) ?? new Set(context.netlist.nets.filter((net) => isTimed(net, context)));
  timedIn.set(context, timed);
  return timed;
}

function other(way: Way): Way {
  return way === 'short' ? 'long' : 'short';
}

/** Whether a time at a net depends on something that may be off. */
function isTimed({ outputs, inputs }: Net, { tolerance }: Context): boolean {
  const isOff = ({ facts: { doubt } }: InputJack | OutputJack): boolean =>
    tolerance > 0 || doubt !== undefined;
  // What moves slowly by itself is early or late at a threshold by its levels.
  const isMoving = outputs.some(({ jack }) => jack.signal !== 'gate' && jack.signal !== 'switch');
  if (isMoving && outputs.some(({ jack }) => jack.facts.doubt !== undefined)) return true;
  // On a slow edge, levels and thresholds are times too.
  const isSlow = outputs.some(({ jack }) => (jack.facts.stage?.rise ?? 0) > 0);
  if (isSlow) return [...outputs, ...inputs].some(({ jack }) => isOff(jack));
  return (
    outputs.some(
      ({ jack: { facts } }) => offBy(facts, 'width', facts.stage?.width, tolerance) > 0,
    ) ||
    inputs.some(
      ({ jack: { facts } }) => offBy(facts, 'shortest', facts.trigger?.shortest, tolerance) > 0,
    )
  );
}

function riseOff({ outputs }: Net, { tolerance }: Context): number {
  return outputs.reduce(
    (most, { jack: { facts } }) =>
      Math.max(most, offBy(facts, 'rise', facts.stage?.rise, tolerance)),
    0,
  );
}

/** By how much a fact may be off: as its rack says, else by the tolerance that is asked for. */
export function offBy(
  { doubt }: (InputJack | OutputJack)['facts'],
  word: DoubtfulFact,
  value: number | undefined,
  tolerance: number,
): number {
  return value === undefined ? 0 : (doubt?.[word] ?? Math.abs(value) * tolerance);
}

/** A jack with its facts as they are there, in no doubt. */
function jackAt(jack: Jack, off: Off, tolerance: number): Jack {
  if (jack.direction === 'through') return jack;
  const sign = off.way === 'short' || off.way === 'narrow' ? -1 : 1;
  const moved = (word: DoubtfulFact, value: number, by: number): number =>
    value + by * offBy(jack.facts, word, value, tolerance);
  // What is off by so much is not off by as much again.
  if (jack.direction === 'in') {
    const { doubt: _, trigger, ...facts } = jack.facts;
    // What pulls up does so the more, the less its resistance.
    const ohms = moved('ohms', facts.ohms, facts.rest > 0 ? -sign : sign);
    const rest = moved('rest', facts.rest, sign);
    if (trigger === undefined) return { ...jack, facts: { ...facts, ohms, rest } };
    const later = trigger.type === 'voltage' ? -sign : sign;
    const asked = {
      ...trigger,
      on: moved('on', trigger.on, later),
      off: moved('off', trigger.off, later),
      shortest: Math.max(0, moved('shortest', trigger.shortest, -sign)),
    };
    return { ...jack, facts: { ...facts, ohms, rest, trigger: asked } };
  }
  const { doubt, ...facts } = jack.facts;
  const stage = facts.stage && {
    ...facts.stage,
    rise: Math.max(0, moved('rise', facts.stage.rise, off.rise)),
    width: Math.max(0, moved('width', facts.stage.width, sign)),
  };
  if (facts.type === 'switch') return { ...jack, facts: { ...facts, ...(stage && { stage }) } };
  const isSpread = off.way === 'wide' || off.way === 'narrow';
  const isScaled = stage?.isScaled === true;
  const high = moved('high', facts.high, sign);
  // What is known by its high level alone is scaled: see `patch/rack/outputs`.
  const scaled = facts.high === 0 ? facts.low : (facts.low * high) / facts.high;
  return {
    ...jack,
    facts: {
      ...facts,
      low: isScaled ? scaled : moved('low', facts.low, isSpread ? -sign : sign),
      high,
      ohms: moved('ohms', facts.ohms, -sign),
      ...(stage && { stage }),
    },
  };
}
