/**
 * What can be wrong where a meter does not show what it should: each suspect is a patch with that slip
 * in it, whose volts are worked out like those of any other.
 */

import { rangesOf } from '../../electrical/levels.ts';
import type { Terminal } from '../../electrical/nets.ts';
import { Prepared } from '../../engine/prepared.ts';
import type { RuleName } from '../../findings/finding.ts';
import { inOhms, listed } from '../../findings/words.ts';
import type { InputJack, Jack, OutputJack } from '../../modules/definition.ts';
import { closure, type OutputFacts, plain, volts } from '../../modules/facts.ts';
import { noise } from '../../modules/noise.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../../patch/patch.ts';
import { type AlongStep, type JackVolts, voltsAt } from './along.ts';
import { voltsWords } from './along-words.ts';

/** A slip that can be behind a meter that shows something else, and what it shows then. */
export interface Suspect {
  readonly type:
    | 'not-plugged'
    | 'other-jack'
    | 'silent'
    | 'wrong-kind'
    | 'weak'
    | 'joined'
    | 'loaded';
  /** What it is, in a sentence. */
  readonly what: string;
  /** Where to look and what to do, in a sentence. */
  readonly look: string;
  /** What the meter shows with it. */
  readonly volts: JackVolts;
  /** Whether that is too near to the expected volts for a meter to tell, given the tolerance of parts. */
  readonly isAlike: boolean;
  /** The finding whose explanation says why. */
  readonly rule?: RuleName;
}

/** Tolerance of parts, as a share. Source: common practice for resistors, no source. */
const TOLERANCE = 0.05;
/** V that a meter tells apart. */
const READABLE = 0.05;
/** V of a gate and of a sound, ohm of a closed switch, as they usually are. */
const GATE = volts(0, 5);
const SOUND = volts(-5, 5);
/** How many extra inputs load the net. */
const CROWD = 10;
/** Resistance of a bad contact, as a multiple of a closed switch's. */
const BAD_CONTACT = 100;

/**
 * Lists what can be wrong at the input of a step, the likeliest first. Where no output reaches it yet, that
 * is only that its plugs are not in.
 */
export function suspectsAt({ of, patch, cable }: AlongStep): readonly Suspect[] {
  const { from, to } = cable;
  const right = voltsAt(of, to);
  const without = new Prepared({
    ...patch,
    cables: patch.cables.filter((one) => one !== cable),
  });
  const found: Suspect[] = [];
  const add = (slip: Patch | Prepared, one: Omit<Suspect, 'volts' | 'isAlike'>): void => {
    const shown = voltsAt(slip, to);
    found.push({ ...one, volts: shown, isAlike: isAlike(shown, right) });
  };

  const beside = freeJacks(without.patch, to, 'in');
  add(without, {
    type: 'not-plugged',
    what:
      `The plug is not all the way in at one end${beside.length === 0 ? '' : `, or it is in ${listed(beside)}`}` +
      ', or the cable is broken.',
    look: `Push both plugs home, and try another cable. ${openWords(without, from)}`,
    rule: 'input-open',
  });
  for (const { names, slip } of otherJacks(without.patch, cable))
    add(slip, {
      type: 'other-jack',
      what: `The plug is in ${listed(names)} instead of ${jackName(from)}.`,
      look: `Read the name at the jack: it belongs in “${from.jack}”.`,
    });
  const source = sourceOf(of, from, to);
  if (source === undefined) return found;
  const { facts } = source.jack;
  const giver = jackName({ module: source.module.name, jack: source.jack.name });
  const giving = (instead: OutputFacts): Patch => substituted(patch, giver, instead);

  add(giving(silent(facts)), {
    type: 'silent',
    what: `${giver} gives nothing.`,
    look: `${feedersWords(patch, source.module)} ${openWords(without, from)}`,
  });
  const kind = wrongKind(patch, cable, facts);
  if (kind !== undefined) {
    const { instead, ...words } = kind;
    add(giving(instead), { type: 'wrong-kind', ...words });
  }
  const isSwitch = facts.type === 'switch';
  add(giving(weak(facts, source, of)), {
    type: 'weak',
    what: isSwitch
      ? `The switch of ${giver} closes badly: ${inOhms(BAD_CONTACT * facts.ohms)} instead of ${inOhms(facts.ohms)}.`
      : `${giver} gives half of what it should.`,
    look: isSwitch
      ? 'Try another cable and another converter: a contact that closes badly does not get better.'
      : `Compare the settings of ${source.module.name} with the sheet, its level above all.`,
    ...(right.trigger && { rule: 'level-too-low' }),
  });
  add(joined(patch, to), {
    type: 'joined',
    what: 'A second output is plugged onto the same wire, by a multiple, and is at rest.',
    look: 'Follow the wire through its multiples: one output alone may be on it.',
    rule: 'outputs-joined',
  });
  add(crowded(patch, to), {
    type: 'loaded',
    what: `${CROWD} inputs too many hang on the same wire.`,
    look: 'Take off what is no part of the patch, one plug after another, and watch the meter.',
    rule: 'loaded-down',
  });
  return found;
}

function isAlike(shown: JackVolts, right: JackVolts): boolean {
  const near = (a: number, b: number): boolean =>
    Math.abs(a - b) <= Math.max(READABLE, TOLERANCE * Math.abs(b));
  return near(shown.low, right.low) && near(shown.high, right.high) && near(shown.rest, right.rest);
}

/** Other jacks of a module of one direction without a plug. */
function freeJacks(patch: Patch, of: JackRef, direction: Jack['direction']): readonly string[] {
  const used = new Set(patch.cables.flatMap(({ from, to }) => [jackName(from), jackName(to)]));
  const module = patch.modules.find(({ name }) => name === of.module);
  return (module?.jacks ?? [])
    .filter((jack) => jack.direction === direction && jack.name !== of.jack)
    .map(({ name }) => jackName({ module: of.module, jack: name }))
    .filter((name) => !used.has(name));
}

/** The cable from each other free output of its module; those that give the same volts are told as one. */
function otherJacks(
  without: Patch,
  { from, to, place }: Cable,
): readonly { readonly names: readonly string[]; readonly slip: Prepared }[] {
  const groups = new Map<string, { names: string[]; slip: Prepared }>();
  for (const name of freeJacks(without, from, 'out')) {
    const other = { module: from.module, jack: name.slice(from.module.length + 1) };
    const cables = [...without.cables, { from: other, to, place }];
    const slip = new Prepared({ ...without, cables });
    const { low, high, rest } = voltsAt(slip, to);
    const key = [low, high, rest].map((value) => value.toFixed(2)).join(' ');
    const group = groups.get(key);
    if (group === undefined) groups.set(key, { names: [name], slip });
    else group.names.push(name);
  }
  return [...groups.values()];
}

/** The output behind a cable: its own end, or what drives the multiple that it comes from. */
function sourceOf(
  { nets }: Prepared,
  from: JackRef,
  to: JackRef,
): Terminal<OutputJack> | undefined {
  const outputs = nets.at(to)?.outputs ?? [];
  return (
    outputs.find(({ module, jack }) => module.name === from.module && jack.name === from.jack) ??
    outputs[0]
  );
}

/** What stands at the other end with the cable pulled. */
function openWords(without: Prepared, from: JackRef): string {
  const outputs = without.netsWith([from]).at(from)?.outputs ?? [];
  const [only, ...others] = outputs;
  if (only === undefined) return '';
  const at = jackName(from);
  const { facts } = only.jack;
  if (facts.type === 'switch' && others.length === 0)
    return `With the cable pulled, an ohmmeter between ${at} and ground shows ${inOhms(facts.ohms)} while it is closed, and nothing while it is open.`;
  return `With the cable pulled, ${at} itself shows ${voltsWords(voltsAt(without, from), false)}.`;
}

function feedersWords(patch: Patch, module: PatchModule): string {
  const into = patch.cables.filter(({ to }) => to.module === module.name);
  if (into.length === 0)
    return `See that ${module.name} has power, that it plays, and that its settings are those of the sheet.`;
  return `See that ${module.name} has power. Go back to ${listed(into.map(({ from, to }) => `${jackName(from)} -> ${jackName(to)}`))} and measure there.`;
}

function silent(facts: OutputFacts): OutputFacts {
  return facts.type === 'switch'
    ? { ...facts, ohms: Number.POSITIVE_INFINITY }
    : { ...facts, low: 0, high: 0 };
}

function weak(facts: OutputFacts, source: Terminal<OutputJack>, of: Prepared): OutputFacts {
  if (facts.type === 'switch') return { ...facts, ohms: BAD_CONTACT * facts.ohms };
  const { low, high } = rangesOf(of.patch, of.nets, 0).nominal(source);
  return { ...facts, low: low.low / 2, high: high.high / 2 };
}

/** Another kind of signal than the input waits for. */
function wrongKind(
  patch: Patch,
  { from, to, sort }: AlongStep['cable'],
  facts: OutputFacts,
):
  | {
      readonly instead: OutputFacts;
      readonly what: string;
      readonly look: string;
      readonly rule: RuleName;
    }
  | undefined {
  const module = patch.modules.find(({ name }) => name === to.module);
  const jack = module?.jacks.find(({ name }) => name === to.jack);
  if (jack?.direction !== 'in') return undefined;
  const { trigger } = jack.facts;
  if (trigger?.type === 'switch' || (trigger === undefined && facts.type === 'switch'))
    return {
      instead: GATE,
      what: 'A gate, which gives volts, is plugged in where a switch belongs.',
      look: 'Lead the gate through a trigger converter: gate -> voltage-in, switch-out -> here.',
      rule: 'voltage-into-switch',
    };
  if (trigger?.type === 'voltage')
    return {
      instead: closure(),
      what: 'A switch, which gives no volts of its own, is plugged in where a gate belongs.',
      look: 'Take the converter’s voltage-out, or the gate itself.',
      rule: 'switch-into-voltage',
    };
  return sort === 'audio'
    ? {
        instead: GATE,
        what: 'A gate or a control voltage is plugged in where a sound belongs.',
        look: `A meter for alternating volts shows next to nothing of it. Follow the cable back to ${from.module}.`,
        rule: 'signal-mismatch',
      }
    : {
        instead: SOUND,
        what: 'A sound is plugged in where a control voltage belongs.',
        look: 'A meter for steady volts shows about 0 V of it, one for alternating volts some volts.',
        rule: 'signal-mismatch',
      };
}

/** No module of a file can have these names. */
const INSTEAD = '(instead)';
const ADDED = '(added)';

/** A module that stands in a patch for its jacks alone; its kind passes nothing on. */
function stand(patch: Patch, name: string, jacks: readonly Jack[]): PatchModule {
  return {
    name,
    definition: noise,
    settings: {},
    jacks,
    place: { file: patch.file, line: 1, column: 1, length: 1 },
    settingPlaces: new Map(),
  };
}

function outputOf(facts: OutputFacts): OutputJack {
  return { name: 'out', direction: 'out', signal: 'control', about: '', facts };
}

/** The patch with other facts at an output. */
function substituted(patch: Patch, giver: string, facts: OutputFacts): Patch {
  const module = stand(patch, INSTEAD, [outputOf(facts)]);
  const moved = (ref: JackRef): JackRef =>
    jackName(ref) === giver ? { module: INSTEAD, jack: 'out' } : ref;
  return {
    ...patch,
    modules: [...patch.modules, module],
    cables: patch.cables.map((cable) => ({
      ...cable,
      from: moved(cable.from),
      to: moved(cable.to),
    })),
  };
}

function joined(patch: Patch, to: JackRef): Patch {
  const module = stand(patch, ADDED, [outputOf(volts(0, 0))]);
  const cable: Cable = { from: { module: ADDED, jack: 'out' }, to, place: module.place };
  return { ...patch, modules: [...patch.modules, module], cables: [...patch.cables, cable] };
}

function crowded(patch: Patch, to: JackRef): Patch {
  const jacks = Array.from(
    { length: CROWD },
    (_, index): InputJack => ({
      name: `in-${index + 1}`,
      direction: 'in',
      signal: 'control',
      about: '',
      facts: plain(),
    }),
  );
  const module = stand(patch, ADDED, jacks);
  const cables = jacks.map(
    ({ name }): Cable => ({ from: to, to: { module: ADDED, jack: name }, place: module.place }),
  );
  return { ...patch, modules: [...patch.modules, module], cables: [...patch.cables, ...cables] };
}
