/** What a rack says of a unit's jacks: the electrical facts that its owner measured. */

import { distance } from 'fastest-levenshtein';
import type { Definition, Jack, NumberSpec, OutputJack } from '../../modules/definition.ts';
import type { InputFacts } from '../../modules/facts.ts';
import { checkName, type Entry, entryOf, type MapNode, mapOf, textOf } from '../text/nodes.ts';
import type { Place } from '../text/place.ts';
import { quoted, type Report } from '../text/report.ts';
import { formatBriefly, formatValue, parseValue } from '../units.ts';
import {
  doubtOf,
  hasOwnLevels,
  LEAST_SWITCH_OHMS,
  LEVEL_WORDS,
  type Measured,
  outputFacts,
} from './outputs.ts';

/** The facts of one jack, or of all of a direction, that differ from the kind's. */
export interface MeasuredFacts extends Measured {
  readonly place: Place;
  /** Where each value stands. */
  readonly places: Readonly<Record<string, Place>>;
}

type Specs = Readonly<Record<string, NumberSpec>>;

function fact(
  type: NumberSpec['type'],
  min: number,
  max: number,
  usual: number,
  about: string,
): NumberSpec {
  return { type, min, max, fallback: usual, about };
}

export const INPUT_FACTS: Specs = {
  resistance: fact('resistance', 1, 1e9, 100_000, 'To ground, or to the pull-up.'),
  rest: fact('voltage', -15, 15, 5, 'Volts of the pull-up: where it rests with no plug.'),
  safe: fact('voltage', 0.1, 100, 12, 'Highest volts it withstands, either side of ground.'),
};
export const TRIGGER_FACTS: Specs = {
  on: fact('voltage', -15, 15, 2.5, 'Where it goes on.'),
  off: fact('voltage', -15, 15, 1.5, 'Where it is ready again.'),
  shortest: fact('time', 0, 1, 0.001, 'Shortest pulse it notices.'),
};
export const OUTPUT_FACTS: Specs = {
  resistance: fact('resistance', 0, 1e9, 1000, 'Source resistance; of a switch, when closed.'),
  high: fact(
    'voltage',
    -15,
    15,
    5,
    'High level with nothing plugged in: volts, which no setting moves, or a share (90 %) of what the settings make it. Of outputs, the gates alone.',
  ),
  low: fact('voltage', -15, 15, 0, 'Low level likewise.'),
};
/** Of an output that gives gates. */
export const PULSE_FACTS: Specs = {
  rise: fact('time', 0, 1, 0, 'From 10 to 90 % of a rise, and of a fall.'),
  width: fact('time', 0.00001, 60, 0.005, 'How long a pulse lasts, whatever starts it.'),
};
export const SWITCH_FACTS: Specs = {
  resistance: fact('resistance', LEAST_SWITCH_OHMS, 1e9, 50, 'Resistance when closed.'),
  saturation: fact('voltage', -1, 5, 0.2, 'Volts across it when closed.'),
  width: PULSE_FACTS.width as NumberSpec,
};
/** Words for all jacks of a direction. */
export const ALL_INPUTS = 'inputs';
export const ALL_OUTPUTS = 'outputs';

/**
 * Reads the `jacks:` of a unit.
 * @param isWhole whether what is not stated is as usual, so that a fact may contradict it.
 */
export function readMeasured(
  map: MapNode,
  definition: Definition,
  jacks: readonly Jack[],
  report: Report,
  isWhole: boolean,
): ReadonlyMap<string, MeasuredFacts> {
  const found = new Map<string, MeasuredFacts>();
  const entry = entryOf(map, 'jacks');
  const rule = 'jacks such as { trigger: { on: 3.2 V, off: 1.1 V } }';
  for (const one of (entry && mapOf(entry, rule, report)?.entries) ?? []) {
    const specs = specsFor(one, definition, jacks, report);
    const facts = specs && mapOf(one, `facts such as { resistance: 47 kohm }`, report);
    if (!specs || !facts) continue;
    found.set(one.key, { place: one.at, ...readFacts(facts, one.key, specs, report) });
    if (isWhole)
      for (const jack of jacks) if (isMeant(one.key, jack)) checkFacts(jack, found, one.at, report);
  }
  return found;
}

function readFacts(
  facts: MapNode,
  jack: string,
  specs: Specs,
  report: Report,
): Omit<MeasuredFacts, 'place'> {
  const values: { [name: string]: number } = {};
  const doubts: { [name: string]: number } = {};
  const places: { [name: string]: Place } = {};
  const shares = new Set<string>();
  for (const each of facts.entries) {
    const { key } = each;
    const spec = Object.hasOwn(specs, key) ? specs[key] : undefined;
    if (spec === undefined) {
      reportFact(each, jack, specs, report);
      continue;
    }
    const node = textOf(each, 'a number with its unit', report);
    if (!node) continue;
    const [words = '', off, ...more] = node.text.split(PLUS_MINUS);
    const isShare = words.trim().endsWith('%') && isLevel(key);
    const reading = parseValue(words, isShare ? SHARE : spec, key);
    const { fault } = reading;
    if (fault) {
      const middle = off === undefined ? middleOf(words, spec, key) : undefined;
      if (middle === undefined) report.add(fault.code, node.place, fault.message, fault);
      else
        report.add('wrong-type', node.place, `${quoted(node.text)} is a range`, {
          expected: `its middle, and how far off that may be: ${middle}`,
          nearest: middle,
        });
      continue;
    }
    values[key] = reading.value;
    places[key] = node.place;
    if (isShare) shares.add(key);
    if (off === undefined) continue;
    const doubt = more.length > 0 ? undefined : doubtIn(off, reading.value, isShare ? SHARE : spec);
    if (doubt !== undefined) doubts[key] = doubt;
    else
      report.add(
        'wrong-type',
        node.place,
        `${quoted(node.text)} does not say how far it is off${/\d,\d/.test(off) ? ': a number has a point, not a comma' : ''}`,
        {
          expected: `a share or an amount under the value, such as ${formatValue(reading.value, isShare ? 'percent' : spec.type)} +- 2 %`,
        },
      );
  }
  return { values, doubts, shares, places };
}

/** How a person writes by how much a measured value may be off. */
const PLUS_MINUS = /\s*(?:\u00b1|\+\/-|\+-)\s*/;
/** The middle of a range such as `5.0 .. 5.2 V`, and half of it; undefined for what is none. */
function middleOf(words: string, spec: NumberSpec, key: string): string | undefined {
  const [, from = '', to = ''] = RANGE.exec(words.trim()) ?? [];
  const unit = /[^\d.\s+-].*$/.exec(to)?.[0] ?? '';
  const [low, high] = [/\d$/.test(from) ? `${from} ${unit}` : from, to].map((end) =>
    parseValue(end, spec, key),
  );
  if (low === undefined || low.fault || high === undefined || high.fault) return undefined;
  const half = (high.value - low.value) / 2;
  if (half <= 0) return undefined;
  return `${formatBriefly(low.value + half, spec.type)} +- ${formatBriefly(half, spec.type)}`;
}

const RANGE = /^(\S.*?)\s*(?:\.\.+|\u2013|\bto\b|(?<=[\d\p{L}])\s*-)\s*(\S.*)$/u;

/** A level as a share of what the settings make it. */
export const SHARE: NumberSpec = fact(
  'percent',
  0.01,
  3,
  1,
  'A share of what the settings make it.',
);

export function isLevel(word: string): boolean {
  return word === 'low' || word === 'high';
}

/** By how much a value may be off, in its unit; undefined where that cannot be. */
function doubtIn(words: string, value: number, spec: NumberSpec): number | undefined {
  const isShare = words.trim().endsWith('%');
  const type = isShare ? 'percent' : spec.type;
  const reading = parseValue(words, { ...spec, type, min: 0, max: 1e9 }, 'tolerance');
  if (reading.fault) return undefined;
  const { value: amount } = reading;
  // Volts may be off by more than they are, about 0 V, but nobody says so as a share.
  if (isShare && amount >= 1) return undefined;
  // A share of a share is one of the value, too.
  const doubt = isShare ? amount * Math.abs(value) : amount;
  // A resistance or a time that may be nothing is not measured.
  const isOfVolts = spec.type === 'voltage';
  return isOfVolts ? (doubt < 15 ? doubt : undefined) : doubt < value ? doubt : undefined;
}

function specsFor(
  entry: Entry,
  definition: Definition,
  jacks: readonly Jack[],
  report: Report,
): Specs | undefined {
  if (entry.key === ALL_INPUTS) return { ...INPUT_FACTS, ...TRIGGER_FACTS };
  if (entry.key === ALL_OUTPUTS) return { ...SWITCH_FACTS, ...OUTPUT_FACTS, ...PULSE_FACTS };
  const jack = jacks.find(({ name }) => name === entry.key);
  if (jack === undefined && isNamedByPatch(entry.key, definition, jacks)) {
    checkName(entry.key, entry.at, report);
    return { ...OUTPUT_FACTS, ...PULSE_FACTS };
  }
  if (jack === undefined) {
    const legal = [
      ...jacks.filter(({ direction }) => direction !== 'through').map(({ name }) => name),
      ALL_INPUTS,
      ALL_OUTPUTS,
    ];
    report.unknown(
      'unknown-jack',
      entry.at,
      `there is no jack ${quoted(entry.key)}`,
      entry.key,
      legal,
    );
    return undefined;
  }
  if (jack.direction === 'through') {
    report.add(
      'wrong-type',
      entry.at,
      `${quoted(entry.key)} is joined to the others, and has no facts of its own`,
    );
    return undefined;
  }
  if (jack.direction === 'in')
    return jack.facts.trigger === undefined ? INPUT_FACTS : { ...INPUT_FACTS, ...TRIGGER_FACTS };
  if (jack.facts.type === 'switch') return SWITCH_FACTS;
  const { resistance } = OUTPUT_FACTS;
  if (!hasOwnLevels(definition, jack.name)) return { resistance: resistance as NumberSpec };
  return jack.signal === 'gate' ? { ...OUTPUT_FACTS, ...PULSE_FACTS } : OUTPUT_FACTS;
}

/** Whether a name may be that of a channel or a row, which the patch chooses: it is no slip of another jack's name. */
function isNamedByPatch(name: string, { settings }: Definition, jacks: readonly Jack[]): boolean {
  const types: readonly string[] = Object.values(settings).map(({ type }) => type);
  if (!types.includes('channels') && !types.includes('rows')) return false;
  return ![...jacks.map((jack) => jack.name), ALL_INPUTS, ALL_OUTPUTS].some(
    (known) => distance(known, name) <= 1,
  );
}

function reportFact(entry: Entry, jack: string, specs: Specs, report: Report): void {
  const message = `${quoted(jack)} has no ${quoted(entry.key)} to measure`;
  if (specs.resistance !== undefined && LEVEL_WORDS.includes(entry.key))
    report.add('unknown-key', entry.at, message, {
      expected: specs.saturation
        ? 'the saturation of a switch, which gives no volts of its own'
        : specs.high
          ? 'the rise of an output that gives gates'
          : 'the levels of an output that gives volts of its own: this jack has those of what comes in',
    });
  else report.unknown('unknown-key', entry.at, message, entry.key, Object.keys(specs));
}

function isMeant(key: string, jack: Jack): boolean {
  return (
    key === jack.name ||
    (key === ALL_INPUTS && jack.direction === 'in') ||
    (key === ALL_OUTPUTS && jack.direction === 'out')
  );
}

/** Thresholds that are the wrong way round would never let go; nor would such a gate. */
function checkFacts(
  jack: Jack,
  measured: ReadonlyMap<string, MeasuredFacts>,
  place: Place,
  report: Report,
): void {
  const message = contradictionAt(measuredJack(jack, measured));
  if (message !== undefined)
    report.add('range', place, `${quoted(jack.name)} contradicts itself: ${message}`);
}

/** Why the facts of a jack cannot all be true; undefined if they can. */
export function contradictionAt(jack: Jack): string | undefined {
  if (jack.direction === 'in') return contradiction(jack.facts);
  if (jack.direction === 'through' || jack.facts.type === 'switch') return undefined;
  const { low, high, stage } = jack.facts;
  if (stage === undefined || stage.from.low === stage.from.high || low < high) return undefined;
  return `low at ${low} V is not under high at ${high} V`;
}

/** Why the facts of an input cannot all be true; undefined if they can. */
function contradiction({ rest, trigger }: InputFacts): string | undefined {
  if (trigger === undefined) return undefined;
  const { type, on, off } = trigger;
  if (type === 'voltage')
    return off < on ? undefined : `off at ${off} V is not under on at ${on} V`;
  if (off <= on) return `off at ${off} V is not above on at ${on} V`;
  return rest > off ? undefined : `its pull-up of ${rest} V never lets go at ${off} V`;
}

/** The jack with the facts that were measured. */
export function measuredJack(jack: Jack, measured: ReadonlyMap<string, MeasuredFacts>): Jack {
  if (jack.direction === 'through') return jack;
  const named = measured.get(jack.name);
  const own = named && jack.direction === 'out' ? ofPulses(named, jack) : named;
  const all = measured.get(jack.direction === 'in' ? ALL_INPUTS : ALL_OUTPUTS);
  const given = together(jack.direction === 'in' ? all : all && ofAll(all, jack), own);
  if (given === undefined) return jack;
  return jack.direction === 'in'
    ? { ...jack, facts: inputFacts(jack.facts, given) }
    : { ...jack, facts: outputFacts(jack, given) };
}

/** What is said of a jack by itself, and for the rest of all. */
function together(all: Measured | undefined, own: Measured | undefined): Measured | undefined {
  if (all === undefined || own === undefined) return own ?? all;
  const others = Object.keys(all.values).filter((word) => own.values[word] === undefined);
  return {
    values: { ...all.values, ...own.values },
    doubts: { ...only(all.doubts, others), ...own.doubts },
    shares: new Set([...own.shares, ...others.filter((word) => all.shares.has(word))]),
  };
}

/** What is said of all outputs as it is meant for one: levels and pulses are those of gates. */
function ofAll(all: Measured, { signal }: OutputJack): Measured | undefined {
  if (signal === 'gate' || signal === 'switch') return all;
  const words = Object.keys(all.values).filter((word) => !(word in PULSE_FACTS) && !isLevel(word));
  if (words.length === 0) return undefined;
  return { values: only(all.values, words), doubts: only(all.doubts, words), shares: new Set() };
}

/** What is said of one output; of a channel's accent or a row of pitches, what only pulses have is not. */
function ofPulses(own: Measured, { signal }: OutputJack): Measured {
  if (signal === 'gate' || signal === 'switch') return own;
  return {
    ...own,
    values: only(
      own.values,
      Object.keys(own.values).filter((word) => !(word in PULSE_FACTS)),
    ),
  };
}

function only(
  values: Readonly<Record<string, number>>,
  words: readonly string[],
): Readonly<Record<string, number>> {
  return Object.fromEntries(Object.entries(values).filter(([word]) => words.includes(word)));
}

function inputFacts(facts: InputFacts, measured: Measured): InputFacts {
  const { trigger } = facts;
  const { values } = measured;
  const words = ['resistance', 'rest', ...(trigger ? ['on', 'off', 'shortest'] : [])];
  const doubt = doubtOf(measured, words);
  return {
    ohms: values.resistance ?? facts.ohms,
    rest: values.rest ?? facts.rest,
    safe: values.safe ?? facts.safe,
    ...(doubt && { doubt }),
    ...(trigger !== undefined && {
      trigger: {
        type: trigger.type,
        on: values.on ?? trigger.on,
        off: values.off ?? trigger.off,
        shortest: values.shortest ?? trigger.shortest,
      },
    }),
  };
}
