/**
 * What is worth measuring at the cabinet: facts of jacks, each with how much surer the check of a trigger input
 * becomes once it is known. The measure is how far everything may be off until the input fails; a known fact is
 * off only as far as a meter is.
 */

import { patchLevels } from '../electrical/levels.ts';
import { type Net, type Netlist, netlist, type Terminal } from '../electrical/nets.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import type { InputJack, Jack, OutputJack } from '../modules/definition.ts';
import type { Doubt } from '../modules/facts.ts';
import { jackName, type Patch, type PatchModule } from '../patch/patch.ts';
import { hasOwnLevels } from '../patch/rack/outputs.ts';
import { FARTHEST, holdsText, STEPS, type SurveyPoint, surveyOf } from './survey.ts';

/** A fact that nobody has measured, or that was measured without saying how far it may be off. */
export interface Blank {
  /** The unit of the rack or, without one, the module. */
  readonly unit: string;
  readonly kind: string;
  readonly jack: string;
  readonly direction: 'in' | 'out';
  /** As a rack calls it: `high`, `resistance`, `on` and the like. */
  readonly fact: string;
  readonly quantity: 'voltage' | 'resistance';
  /** What is assumed until it is measured, V or ohm. */
  readonly expected: number;
  /** The trigger input whose check gains most by it. */
  readonly at: string;
  /** Share by which everything may be off there, as it is and with the fact known; undefined past {@link FARTHEST}. */
  readonly holds: number | undefined;
  readonly then: number | undefined;
}

/** A meter is off by so much of what it shows: common practice, no source. */
const METER = 0.01;

/** By the name that the electricity has for it: what a rack calls a fact, and its unit. */
interface Fact {
  readonly name: keyof Doubt;
  readonly word: string;
  readonly quantity: Blank['quantity'];
  readonly value: number;
}

/**
 * Lists what is worth measuring, the most worthwhile first. Left out are facts that make no check surer by a
 * hundredth, and those that a rack states with how far they may be off.
 * @param of a checked patch, with its rack's facts in its jacks if it has one.
 * @param points its survey, where it is known.
 */
export function blanksOf(
  of: Patch | Prepared,
  points: readonly SurveyPoint[] = surveyOf(of),
): readonly Blank[] {
  const { patch, nets } = prepared(of);
  const holds = new Map(points.map((point) => [point.jack, point.holds]));
  const best = new Map<string, Blank>();
  for (const net of nets.nets) {
    const at = net.inputs.map(nameOf).filter((jack) => holds.has(jack));
    if (at.length === 0) continue;
    for (const { module, jack, fact } of factsOf(net)) {
      const known = withKnown(patch, module, jack, fact);
      const list = netlist(known);
      const unit = module.unit?.name ?? module.name;
      const key = `${unit}.${jack.name}.${fact.word}`;
      for (const input of at) {
        const before = holds.get(input);
        const then = holdsAt(known, list, input, before);
        const blank = {
          unit,
          kind: module.definition.kind,
          jack: jack.name,
          direction: jack.direction,
          fact: fact.word,
          quantity: fact.quantity,
          expected: fact.value,
          at: input,
          holds: before,
          then,
        };
        const other = best.get(key);
        if (worthOf(blank) > 0 && (other === undefined || worthOf(blank) > worthOf(other)))
          best.set(key, blank);
      }
    }
  }
  return [...best.values()].sort((a, b) => worthOf(b) - worthOf(a));
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
    case 'rest':
      return 'volts at the jack with no plug in it';
    default:
      return direction === 'out'
        ? 'from the fall of its volts into a known load: load x (open / loaded - 1)'
        : 'with an ohmmeter, powered down, or from the fall of a known source';
  }
}

/** What a blank is worth in words: how much surer a check becomes. */
export function worthText({ at, holds, then }: Blank): string {
  return `${at} then holds until ${holdsText(then)}; now ${holdsText(holds)}`;
}

function nameOf({ module, jack }: Terminal<Jack>): string {
  return jackName({ module: module.name, jack: jack.name });
}

interface FactAt {
  readonly module: PatchModule;
  readonly jack: InputJack | OutputJack;
  readonly fact: Fact;
}

function factsOf({ outputs, inputs }: Net): readonly FactAt[] {
  const of = (
    { module, jack }: Terminal<InputJack | OutputJack>,
    facts: readonly Fact[],
  ): readonly FactAt[] =>
    facts
      .filter(({ name }) => jack.facts.doubt?.[name] === undefined)
      .map((fact) => ({ module, jack, fact }));
  return [
    ...outputs.flatMap((terminal) => of(terminal, outputFacts(terminal))),
    ...inputs.flatMap((terminal) => of(terminal, inputFacts(terminal))),
  ];
}

function outputFacts({ module, jack: { name, facts } }: Terminal<OutputJack>): readonly Fact[] {
  const resistance = ohms(facts.ohms);
  if (facts.type === 'switch')
    return [resistance, { ...volts('saturation', facts.saturation), name: 'saturation' }];
  const levels = hasOwnLevels(module.definition, name)
    ? [volts('high', facts.high), volts('low', facts.low)]
    : [];
  return [...levels, resistance];
}

function inputFacts({ jack: { facts } }: Terminal<InputJack>): readonly Fact[] {
  const { trigger, rest } = facts;
  if (trigger === undefined) return [ohms(facts.ohms)];
  const pulled = trigger.type === 'switch' ? [volts('rest', rest)] : [];
  return [volts('on', trigger.on), volts('off', trigger.off), ...pulled, ohms(facts.ohms)];
}

function volts(word: 'high' | 'low' | 'on' | 'off' | 'rest' | 'saturation', value: number): Fact {
  return { name: word, word, quantity: 'voltage', value };
}

function ohms(value: number): Fact {
  return { name: 'ohms', word: 'resistance', quantity: 'resistance', value };
}

/** The patch with a fact known at a jack, of all modules that are of the unit. */
function withKnown(patch: Patch, of: PatchModule, at: Jack, { name, value }: Fact): Patch {
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

/** How far everything may be off until an input fails: by halving, from what is known to hold. */
function holdsAt(patch: Patch, list: Netlist, input: string, from = FARTHEST): number | undefined {
  const isFine = (step: number): boolean =>
    patchLevels(patch, step / STEPS, list).every(({ inputs }) =>
      inputs.every(
        (one) =>
          one.trigger === undefined ||
          nameOf(one.terminal) !== input ||
          (one.trigger.margin >= 0 && one.trigger.release >= 0),
      ),
    );
  const most = Math.round(FARTHEST * STEPS);
  let low = Math.round(from * STEPS);
  if (low >= most || isFine(most)) return undefined;
  let high = most;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (isFine(middle)) low = middle;
    else high = middle;
  }
  return low / STEPS;
}
