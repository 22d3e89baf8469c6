/**
 * What is worth measuring at the cabinet: facts of jacks, each with how much surer the check of a trigger input
 * becomes once it is known. The measure is how far everything may be off until the input fails; a known fact is
 * off only as far as a meter is.
 */

import type { Net, Netlist, Terminal } from '../electrical/nets.ts';
import { passedBy } from '../electrical/ranges.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import type { InputJack, Jack, OutputJack } from '../modules/definition.ts';
import type { Doubt } from '../modules/facts.ts';
import { type JackRef, jackName, jackNamed, type Patch, type PatchModule } from '../patch/patch.ts';
import { hasOwnLevels } from '../patch/rack/outputs.ts';
import { formatBriefly } from '../patch/units.ts';
import { surveyOf } from './survey.ts';
import {
  areVoltsFine,
  contextWithin,
  FARTHEST,
  holdsText,
  holdsUntil,
  type SurveyPoint,
} from './survey-point.ts';
import { isFineAt, isMeasured } from './survey-times.ts';
import { wiresBehind } from './triggers/corners.ts';

/**
 * A fact that nobody has measured, or that was measured without saying how far it may be off, or less closely
 * than it can be.
 */
export interface Blank {
  /** The unit of the rack or, without one, the module. */
  readonly unit: string;
  readonly kind: string;
  readonly jack: string;
  readonly direction: 'in' | 'out';
  /** As a rack calls it: `high`, `resistance`, `on` and the like. */
  readonly fact: string;
  readonly quantity: 'voltage' | 'resistance' | 'time';
  /** What is assumed until it is measured, V, ohm or s. */
  readonly expected: number;
  /** By how much the rack says that it may be off, in the same unit; undefined where it does not say. */
  readonly doubt: number | undefined;
  /** The least certain trigger input whose check gains by it, and what of it. */
  readonly at: string;
  readonly measure: SurveyPoint['measure'];
  /** Share by which everything may be off there, as it is and with the fact known; undefined past {@link FARTHEST}. */
  readonly holds: number | undefined;
  readonly then: number | undefined;
}

/** A meter or a scope is off by so much of what it shows: common practice, no source. */
const METER = 0.01;

/** By the name that the electricity has for it: what a rack calls a fact, and its unit. */
interface ElectricalFact {
  readonly name: keyof Doubt;
  readonly word: string;
  readonly quantity: Blank['quantity'];
  readonly value: number;
}

/**
 * Lists what is worth measuring: what makes the least certain check surer first, the most worthwhile of that before the
 * rest, and the facts of one jack and of one unit together, as a rack file has them. Left out are facts that make no check surer by a
 * hundredth, and those that a rack states as closely as a meter does.
 * @param of a checked patch, with its rack's facts in its jacks if it has one.
 * @param points its survey, where it is known.
 */
export function blanksOf(
  of: Patch | Prepared,
  points: readonly SurveyPoint[] = surveyOf(of),
): readonly Blank[] {
  const all = prepared(of);
  const best = new Map<string, Blank>();
  for (const point of inOrderOfNets(points, all)) {
    const { jack: at, measure, holds: before } = point;
    for (const { module, jack, fact } of factsFor(point, all)) {
      const unit = module.unit?.name ?? module.name;
      const key = `${unit}.${jack.name}.${jack.direction}.${fact.word}`;
      const known = prepared(withKnown(all.patch, module, jack, fact));
      const then = holdsUntil((step) => isFine(point, known, step), before);
      const blank = {
        unit,
        kind: module.definition.kind,
        jack: jack.name,
        direction: jack.direction,
        fact: fact.word,
        quantity: fact.quantity,
        expected: fact.value,
        doubt: jack.facts.doubt?.[fact.name],
        at,
        measure,
        holds: before,
        then,
      };
      const other = best.get(key);
      if (worthOf(blank) > 0 && (other === undefined || urgency(blank, other) < 0))
        best.set(key, blank);
    }
  }
  const byUrgency = [...best.values()].sort(urgency);
  return blanksBy(byUrgency, ({ unit }) => unit).flatMap((ofUnit) =>
    blanksBy(ofUnit, ({ jack }) => jack).flat(),
  );
}

/** Which of two is to be measured first: below 0 for `a`. */
function urgency(a: Blank, b: Blank): number {
  return (a.holds ?? FARTHEST) - (b.holds ?? FARTHEST) || worthOf(b) - worthOf(a);
}

/** Blanks by a name that they have, in the order in which the names first appear. */
export function blanksBy(
  blanks: readonly Blank[],
  nameOf: (blank: Blank) => string,
): readonly (readonly Blank[])[] {
  const groups = new Map<string, Blank[]>();
  for (const blank of blanks)
    groups.set(nameOf(blank), [...(groups.get(nameOf(blank)) ?? []), blank]);
  return [...groups.values()];
}

/** How much further everything may be off once the fact is known: a share, or more where it then holds at {@link FARTHEST}. */
export function worthOf({ holds, then }: Blank): number {
  return (then ?? FARTHEST) - (holds ?? FARTHEST);
}

/** How to measure a fact. */
export function howTo({ fact, direction }: Blank): string {
  switch (fact) {
    case 'high':
      return 'volts with nothing else plugged in, the gate held on';
    case 'low':
      return 'volts with nothing else plugged in, at rest';
    case 'saturation':
      return 'volts across it while it is closed';
    case 'on':
      return 'the volts at which it fires as they are turned up or, of a switch trigger, down';
    case 'off':
      return 'the volts at which it is ready again on the way back';
    case 'width':
      return 'time on a scope from half-way up to half-way down';
    case 'rise':
      return 'time on a scope from 10 to 90 % of the way up';
    case 'shortest':
      return 'the length at which it first fires, as a pulse is made longer';
    case 'rest':
      return 'volts at the jack with no plug in it';
    default:
      return direction === 'out'
        ? 'from the fall of its volts into a known load: load x (open / loaded - 1)'
        : 'with an ohmmeter, powered down, or from the fall of a known source';
  }
}

/** What a blank is worth in words: how much surer a check becomes. */
export function worthText({ at, measure, holds, then }: Blank): string {
  const what = { volts: at, width: `the width at ${at}`, lateness: `the lateness at ${at}` }[
    measure
  ];
  return `${what} then holds until ${holdsText(then)}; now ${holdsText(holds)}`;
}

/** What a fact is taken for until it is measured: `1.05 ms +- 0.1 ms`. */
export function takenFor({ expected, doubt, quantity }: Blank): string {
  const value = formatBriefly(expected, quantity);
  return doubt === undefined ? value : `${value} +- ${formatBriefly(doubt, quantity)}`;
}

function nameOf({ module, jack }: Terminal<Jack>): string {
  return jackName({ module: module.name, jack: jack.name });
}

interface FactAt {
  readonly module: PatchModule;
  readonly jack: InputJack | OutputJack;
  readonly fact: ElectricalFact;
}

/** As the nets are: of two inputs that gain alike by a fact, the first one stands with it. */
function inOrderOfNets(points: readonly SurveyPoint[], { nets }: Prepared): readonly SurveyPoint[] {
  const jacks = nets.nets.flatMap(({ inputs }) => inputs.map(nameOf));
  const order = new Map(jacks.map((jack, index) => [jack, index]));
  const placeOf = ({ jack }: SurveyPoint): number => order.get(jack) ?? 0;
  return points.toSorted((a, b) => placeOf(a) - placeOf(b));
}

/** The facts that what is measured at a point may depend on. */
function factsFor(point: SurveyPoint, all: Prepared): readonly FactAt[] {
  const jack = jackNamed(all.patch, point.jack);
  if (jack === undefined) return [];
  if (point.measure === 'volts') {
    const wires = levelsFrom(all.nets.at(jack), all.nets);
    return wires.flatMap((net) => factsOf(net).filter(({ fact }) => fact.quantity !== 'time'));
  }
  // Where everything is off, whatever a time depends on is.
  const behind = [...wiresBehind(jack, contextWithin(all, 1)).keys()];
  // A measured width is the same whatever starts it.
  const own = all.nets.at(jack);
  const wires = isMeasured(all, jack) ? behind.filter((net) => net === own) : behind;
  return wires.flatMap((net) => {
    // Volts decide when a slow edge comes to a threshold, and nothing on a quick one.
    const isSlow = net.outputs.some(({ jack }) => (jack.facts.stage?.rise ?? 0) > 0);
    return factsOf(net).filter(({ fact }) => isSlow || fact.quantity === 'time');
  });
}

/** A net and those that its volts come of, through what passes them on, the nearest first. */
function levelsFrom(start: Net | undefined, { at }: Netlist): readonly Net[] {
  const found = new Set(start === undefined ? [] : [start]);
  const isDriven = (ref: JackRef): boolean => (at(ref)?.outputs.length ?? 0) > 0;
  for (const { outputs } of found)
    for (const { module, jack } of outputs)
      for (const { input } of passedBy(module, jack.name, isDriven)?.terms ?? []) {
        const net = at({ module: module.name, jack: input });
        if (net !== undefined) found.add(net);
      }
  return [...found];
}

/** Whether what is measured at a point is as it must be, with everything else off by so many steps of a share. */
function isFine({ measure, jack }: SurveyPoint, of: Prepared, step: number): boolean {
  return measure === 'volts' ? areVoltsFine(of, jack, step) : isFineAt(of, measure, jack, step);
}

function factsOf({ outputs, inputs }: Net): readonly FactAt[] {
  const of = (
    { module, jack }: Terminal<InputJack | OutputJack>,
    facts: readonly ElectricalFact[],
  ): readonly FactAt[] =>
    facts
      .filter(({ name, value }) => {
        const stated = jack.facts.doubt?.[name];
        // Of 0 there is no share by which a meter is off.
        return stated === undefined || (value !== 0 && stated > METER * Math.abs(value));
      })
      .map((fact) => ({ module, jack, fact }));
  return [
    ...outputs.flatMap((terminal) => of(terminal, outputFacts(terminal))),
    ...inputs.flatMap((terminal) => of(terminal, inputFacts(terminal))),
  ];
}

function outputFacts({
  module,
  jack: { name, facts },
}: Terminal<OutputJack>): readonly ElectricalFact[] {
  const resistance = ohms(facts.ohms);
  const { stage } = facts;
  // What no rack states is as the settings say, or at once.
  const times = (['width', 'rise'] as const).flatMap((word) =>
    stage === undefined || stage[word] === 0 ? [] : [time(word, stage[word])],
  );
  if (facts.type === 'switch')
    return [resistance, { ...volts('saturation', facts.saturation), name: 'saturation' }, ...times];
  const levels = hasOwnLevels(module.definition, name)
    ? [volts('high', facts.high), volts('low', facts.low)]
    : [];
  return [...levels, resistance, ...times];
}

function inputFacts({ jack: { facts } }: Terminal<InputJack>): readonly ElectricalFact[] {
  const { trigger, rest } = facts;
  if (trigger === undefined) return [ohms(facts.ohms)];
  const pulled = trigger.type === 'switch' ? [volts('rest', rest)] : [];
  const shortest = trigger.shortest > 0 ? [time('shortest', trigger.shortest)] : [];
  return [
    volts('on', trigger.on),
    volts('off', trigger.off),
    ...pulled,
    ohms(facts.ohms),
    ...shortest,
  ];
}

function volts(
  word: 'high' | 'low' | 'on' | 'off' | 'rest' | 'saturation',
  value: number,
): ElectricalFact {
  return { name: word, word, quantity: 'voltage', value };
}

function time(word: 'width' | 'rise' | 'shortest', value: number): ElectricalFact {
  return { name: word, word, quantity: 'time', value };
}

function ohms(value: number): ElectricalFact {
  return { name: 'ohms', word: 'resistance', quantity: 'resistance', value };
}

/** The patch with a fact known at a jack, of all modules that are of the unit. */
function withKnown(
  patch: Patch,
  of: PatchModule,
  at: Jack,
  { name, value }: ElectricalFact,
): Patch {
  const isMeant = (module: PatchModule): boolean =>
    module.name === of.name || (of.unit !== undefined && module.unit?.name === of.unit.name);
  const known = (jack: Jack): Jack => {
    if (jack.name !== at.name || jack.direction === 'through') return jack;
    const doubt: Doubt = { ...jack.facts.doubt, [name]: METER * Math.abs(value) };
    return { ...jack, facts: { ...jack.facts, doubt } } as Jack;
  };
  return {
    ...patch,
    modules: patch.modules.map((module) =>
      isMeant(module) ? { ...module, jacks: module.jacks.map(known) } : module,
    ),
  };
}
