/**
 * The levels of a net: its lowest and highest volts, and how far they pass the thresholds of each of
 * its inputs. The `volts` command prints these, and the electrical rules decide by them.
 *
 * A voltage trigger must be raised to `on` and let down to `off`; a switch trigger must be pulled
 * down to `on` and let up to `off`. With several outputs, each must do so alone, the others being at
 * rest: the margin is that of the output that gets least far.
 */

import type { InputJack, OutputJack } from '../modules/definition.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import { type Net, type Netlist, netlist, type Terminal } from './nets.ts';
import { outputRanges } from './ranges.ts';
import { netSpans, type RangeOf } from './spans.ts';
import { around, type Extremes, extremes, type Tolerance } from './tolerance.ts';

/** The volts of one net, and how they compare with the thresholds of its inputs. */
export interface NetLevels {
  readonly net: Net;
  /** V, the lowest and highest over all states of its outputs; equal on a net that nothing drives. */
  readonly low: number;
  readonly high: number;
  /** V with every output at rest: a voltage output at its low level, a switch open. */
  readonly rest: number;
  /** The same at the worst corners of all resistances and levels; equal to the levels if nothing may be off. */
  readonly worst: Extremes;
  /** In the order of the net's inputs. */
  readonly inputs: readonly InputLevels[];
}

/** What arrives at one input. */
export interface InputLevels {
  readonly terminal: Terminal<InputJack>;
  /** For trigger inputs on a net that has an output. */
  readonly trigger?: TriggerLevels;
}

/** How far what arrives passes the thresholds of a trigger input. */
export interface TriggerLevels {
  readonly type: 'voltage' | 'switch';
  /** V. */
  readonly on: number;
  readonly off: number;
  /** V at the input when it should be on, from the output that drives it least. */
  readonly driven: number;
  /** The same at the worst corner. */
  readonly least: number;
  /** V by which it passes `on` at the worst corner; negative if it never gets there. */
  readonly margin: number;
  /** The margin as a share of `on`. */
  readonly share: number;
  /** V by which the idle level passes `off`; negative if the input never lets go. At the worst corner. */
  readonly release: number;
}

/** The levels of all outputs as they should be, and as they may be within a tolerance: the same where nothing may be off. */
export interface Ranges {
  readonly nominal: RangeOf;
  readonly worst: RangeOf;
  /** The share by which every resistance, level and threshold may be off, under 1. */
  readonly tolerance: Tolerance;
}

/**
 * Works out the levels of every net of a patch.
 * @param patch a checked patch, with its rack's facts in its jacks if it has one.
 * @param tolerance share by which every resistance, level and threshold may be off, from 0 to 0.5.
 * @param list its nets, if they are already known.
 * @returns the nets in the order in which the file's modules first reach them.
 * @throws RangeError if the tolerance is out of its range.
 */
export function patchLevels(
  patch: Patch,
  tolerance = 0,
  list: Netlist = netlist(patch),
): readonly NetLevels[] {
  if (!(tolerance >= 0 && tolerance <= 0.5))
    throw new RangeError(`a tolerance is a share from 0 to 0.5, not ${tolerance}`);
  const ranges = rangesOf(patch, list, tolerance);
  return list.nets.map((net) => netLevels(net, ranges));
}

/** Works out the levels of all outputs of a patch, or of those that are wanted. */
export function rangesOf(
  patch: Patch,
  list: Netlist,
  tolerance: number,
  wanted?: readonly Terminal<OutputJack>[],
): Ranges {
  const nominal = outputRanges(patch, list, undefined, wanted);
  if (tolerance === 0 && !isInDoubt(patch))
    return { nominal, worst: nominal, tolerance: undefined };
  return { nominal, worst: outputRanges(patch, list, tolerance, wanted), tolerance };
}

/**
 * Works out what arrives at a trigger input alone.
 * @param tolerance as for {@link patchLevels}.
 * @returns undefined for another input, and where nothing drives it.
 */
export function triggerLevelsAt(
  { module, jack }: JackRef,
  patch: Patch,
  list: Netlist,
  tolerance: number,
): TriggerLevels | undefined {
  const net = list.at({ module, jack });
  const terminal = net?.inputs.find((one) => one.module.name === module && one.jack.name === jack);
  if (net === undefined || terminal === undefined) return undefined;
  return triggerLevels(terminal, net, rangesOf(patch, list, tolerance, net.outputs));
}

/** Whether a rack states for some fact of the patch by how much it may be off. */
export function isInDoubt({ modules }: Patch): boolean {
  return modules.some(({ jacks }) =>
    jacks.some((jack) => jack.direction !== 'through' && jack.facts.doubt !== undefined),
  );
}

/** Works out the levels of a net. */
export function netLevels(net: Net, ranges: Ranges): NetLevels {
  const { nominal, worst: atWorst, tolerance } = ranges;
  const span = extremes(netSpans(net, nominal, undefined)) ?? GROUND;
  const worst =
    atWorst === nominal ? span : (extremes(netSpans(net, atWorst, tolerance)) ?? GROUND);
  const rest = extremes(netSpans(net, nominal, undefined, () => 'rest')) ?? GROUND;
  return {
    net,
    ...span,
    rest: rest.low,
    worst,
    inputs: net.inputs.map((terminal) => {
      const trigger = triggerLevels(terminal, net, ranges);
      return trigger === undefined ? { terminal } : { terminal, trigger };
    }),
  };
}

/** Where nothing conducts, the engine takes 0 V. */
const GROUND: Extremes = { low: 0, high: 0 };

function triggerLevels(
  { jack }: Terminal<InputJack>,
  net: Net,
  { nominal, worst, tolerance }: Ranges,
): TriggerLevels | undefined {
  const { trigger, doubt } = jack.facts;
  if (trigger === undefined || net.outputs.length === 0) return undefined;
  // A switch trigger is the same comparator upside down.
  const sign = trigger.type === 'voltage' ? 1 : -1;
  let driven = Number.POSITIVE_INFINITY;
  let worstDriven = Number.POSITIVE_INFINITY;
  net.outputs.forEach((_, index) => {
    const alone = oneState(net, nominal, undefined, trigger.type, index);
    driven = Math.min(driven, towards(alone, sign));
    const atWorst =
      worst === nominal ? alone : oneState(net, worst, tolerance, trigger.type, index);
    worstDriven = Math.min(worstDriven, least(atWorst, sign));
  });
  const idle = most(oneState(net, worst, tolerance, trigger.type, undefined), sign);
  const on = around(trigger.on, tolerance, doubt?.on);
  const off = around(trigger.off, tolerance, doubt?.off);
  const margin = worstDriven - sign * (sign > 0 ? on.high : on.low);
  return {
    type: trigger.type,
    on: trigger.on,
    off: trigger.off,
    driven: sign * driven,
    least: sign * worstDriven,
    margin,
    share: trigger.on === 0 ? 0 : margin / Math.abs(trigger.on),
    release: sign * (sign > 0 ? off.low : off.high) - idle,
  };
}

/**
 * The net with one output pushing the input on and the others letting it rest; with none, idle.
 * A voltage output pushes a voltage trigger with its high level and a switch trigger with its low
 * one; a switch pushes a switch trigger closed, and a voltage trigger only by opening.
 */
function oneState(
  net: Net,
  rangeOf: RangeOf,
  tolerance: Tolerance,
  type: 'voltage' | 'switch',
  pushing: number | undefined,
): Extremes {
  const spans = netSpans(net, rangeOf, tolerance, (index) => {
    const isSwitch = net.outputs[index]?.jack.facts.type === 'switch';
    const pushes = index === pushing;
    if (isSwitch) return (type === 'switch') === pushes ? 'on' : 'rest';
    return (type === 'voltage') === pushes ? 'on' : 'rest';
  });
  return extremes(spans) ?? GROUND;
}

function towards({ high, low }: Extremes, sign: number): number {
  return sign > 0 ? high : -low;
}

function least({ high, low }: Extremes, sign: number): number {
  return sign > 0 ? low : -high;
}

function most({ high, low }: Extremes, sign: number): number {
  return sign > 0 ? high : -low;
}
