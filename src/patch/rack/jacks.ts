/** What a rack says of a unit's jacks: the electrical facts that its owner measured. */

import type { Jack, NumberSpec } from '../../modules/definition.ts';
import type { InputFacts, OutputFacts } from '../../modules/facts.ts';
import { type Entry, entryOf, type MapNode, mapOf, textOf } from '../text/nodes.ts';
import type { Place } from '../text/place.ts';
import { quoted, type Report } from '../text/report.ts';
import { parseValue } from '../units.ts';

/** The facts of one jack, or of all of a direction, that differ from the kind's. */
export interface MeasuredFacts {
  readonly place: Place;
  /** In ohm, V and s, by the words of {@link INPUT_FACTS} and {@link OUTPUT_FACTS}. */
  readonly values: Readonly<Record<string, number>>;
}

const LEAST_SWITCH_OHMS = 0.001;

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
  safe: fact('voltage', 0.1, 100, 12, 'Highest volts it stands, either side of ground.'),
};
export const TRIGGER_FACTS: Specs = {
  on: fact('voltage', -15, 15, 2.5, 'Where it goes on.'),
  off: fact('voltage', -15, 15, 1.5, 'Where it is ready again.'),
  shortest: fact('time', 0, 1, 0.001, 'Shortest pulse it notices.'),
};
export const OUTPUT_FACTS: Specs = {
  resistance: fact('resistance', 0, 1e9, 1000, 'Source resistance; of a switch, when closed.'),
};
export const SWITCH_FACTS: Specs = {
  resistance: fact('resistance', LEAST_SWITCH_OHMS, 1e9, 50, 'Resistance when closed.'),
  saturation: fact('voltage', -1, 5, 0.2, 'Volts across it when closed.'),
};
/** Words for all jacks of a direction. */
export const ALL_INPUTS = 'inputs';
export const ALL_OUTPUTS = 'outputs';

/** Reads the `jacks:` of a unit. */
export function readMeasured(
  map: MapNode,
  jacks: readonly Jack[],
  report: Report,
): ReadonlyMap<string, MeasuredFacts> {
  const found = new Map<string, MeasuredFacts>();
  const entry = entryOf(map, 'jacks');
  const rule = 'jacks such as { trigger: { on: 3.2 V, off: 1.1 V } }';
  for (const one of (entry && mapOf(entry, rule, report)?.entries) ?? []) {
    const specs = specsFor(one, jacks, report);
    const facts = specs && mapOf(one, `facts such as { resistance: 47 kohm }`, report);
    if (!specs || !facts) continue;
    const values: { [name: string]: number } = {};
    for (const each of facts.entries) {
      const spec = specs[each.key];
      if (spec === undefined || !Object.hasOwn(specs, each.key)) {
        reportFact(each, one.key, specs, report);
        continue;
      }
      const node = textOf(each, 'a number with its unit', report);
      const reading = node && parseValue(node.text, spec, each.key);
      if (reading?.fault)
        report.add(
          reading.fault.code,
          node?.place ?? each.at,
          reading.fault.message,
          reading.fault,
        );
      else if (reading) values[each.key] = reading.value;
    }
    found.set(one.key, { place: one.at, values });
    for (const jack of jacks) if (isMeant(one.key, jack)) checkFacts(jack, found, one.at, report);
  }
  return found;
}

function specsFor(entry: Entry, jacks: readonly Jack[], report: Report): Specs | undefined {
  if (entry.key === ALL_INPUTS) return { ...INPUT_FACTS, ...TRIGGER_FACTS };
  if (entry.key === ALL_OUTPUTS) return { ...SWITCH_FACTS, ...OUTPUT_FACTS };
  const jack = jacks.find(({ name }) => name === entry.key);
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
  return jack.facts.type === 'switch' ? SWITCH_FACTS : OUTPUT_FACTS;
}

function reportFact(entry: Entry, jack: string, specs: Specs, report: Report): void {
  const level = entry.key === 'high' || entry.key === 'low' || entry.key === 'level';
  const message = `${quoted(jack)} has no ${quoted(entry.key)} to measure`;
  if (level)
    report.add('unknown-key', entry.at, message, {
      expected: 'the volts an output gives as a setting, such as fixed: { level: 4.8 V }',
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

/** Thresholds that are the wrong way round would never let go. */
function checkFacts(
  jack: Jack,
  measured: ReadonlyMap<string, MeasuredFacts>,
  place: Place,
  report: Report,
): void {
  const result = measuredJack(jack, measured);
  if (result.direction !== 'in' || result.facts.trigger === undefined) return;
  const message = contradiction(result.facts);
  if (message !== undefined)
    report.add('range', place, `${quoted(jack.name)} contradicts itself: ${message}`);
}

/** Why the facts of an input cannot all be true; undefined if they can. */
export function contradiction({ rest, trigger }: InputFacts): string | undefined {
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
  const all = measured.get(jack.direction === 'in' ? ALL_INPUTS : ALL_OUTPUTS)?.values;
  const values = { ...all, ...measured.get(jack.name)?.values };
  if (Object.keys(values).length === 0) return jack;
  return jack.direction === 'in'
    ? { ...jack, facts: inputFacts(jack.facts, values) }
    : { ...jack, facts: outputFacts(jack.facts, values) };
}

function inputFacts(facts: InputFacts, values: Readonly<Record<string, number>>): InputFacts {
  const { trigger } = facts;
  return {
    ohms: values.resistance ?? facts.ohms,
    rest: values.rest ?? facts.rest,
    safe: values.safe ?? facts.safe,
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

function outputFacts(facts: OutputFacts, values: Readonly<Record<string, number>>): OutputFacts {
  if (facts.type === 'voltage') return { ...facts, ohms: values.resistance ?? facts.ohms };
  return {
    ...facts,
    // What was said of all outputs may be 0 ohm, which no closed switch is.
    ohms: Math.max(values.resistance ?? facts.ohms, LEAST_SWITCH_OHMS),
    saturation: values.saturation ?? facts.saturation,
  };
}
