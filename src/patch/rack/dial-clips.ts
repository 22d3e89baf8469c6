/**
 * Reads a dial file: which recording is which position of which dial of which unit. It is laid out as a
 * rack is, with the names of WAV files where that has values:
 *
 *   volts: 10 V
 *   units:
 *     bright: { dials: { cutoff: { jack: low, 0: cutoff-0.wav, 5: cutoff-5.wav, 10: cutoff-10.wav } } }
 *
 * Whether the recordings are there and hold what they should is not asked here.
 */

import type { Definition, NumberSpec, ToldBy } from '../../modules/definition.ts';
import { reportUnknownKind } from '../kind.ts';
import { resolvePath } from '../paths.ts';
import { counted } from '../text/counted.ts';
import { type Entry, entryOf, type MapNode, mapOf, textOf } from '../text/nodes.ts';
import type { Place } from '../text/place.ts';
import type { Problem } from '../text/problem.ts';
import { quoted, Report } from '../text/report.ts';
import { sourceOf } from '../text/source.ts';
import { readYaml } from '../text/yaml.ts';
import { parseValue } from '../units.ts';
import { jacksWith, plainSpecOf, type Rack, type Unit } from './rack.ts';

/** A dial file, read and checked. */
export interface DialClips {
  readonly file: string;
  readonly title: string;
  /** V that a sample at full scale stands for. */
  readonly volts?: number;
  readonly dials: readonly ClippedDial[];
}

/** One dial, and the recordings at its positions. */
export interface ClippedDial {
  readonly unit: string;
  readonly definition: Definition;
  /** What a rack says of the unit; undefined without one. */
  readonly owned?: Unit;
  readonly setting: string;
  readonly spec: NumberSpec & { readonly toldBy: ToldBy };
  readonly place: Place;
  /** The output that was recorded. */
  readonly jack: string;
  /** Of an envelope: its own volts, or a sound that it opens an amplifier for. */
  readonly heard: 'volts' | 'sound';
  /** Of a filter: what noise went in, or a recording of it; of a share always that. */
  readonly input: 'white' | 'pink' | { readonly path: string; readonly place: Place };
  /** Counted from 1; undefined where a recording has to have one alone. */
  readonly channel?: number;
  /** Of what is late: the channel of its trigger. */
  readonly trigger?: number;
  /** Two or more, in order of their positions, which differ. */
  readonly clips: readonly DialClip[];
}

export interface DialClip {
  readonly position: number;
  /** The position as the file writes it. */
  readonly words: string;
  /** From where the dial file lies. */
  readonly path: string;
  readonly place: Place;
}

interface Options {
  readonly file: string;
  readonly kinds: readonly Definition[];
  /** The rack whose units they are. */
  readonly rack?: Rack | undefined;
}

const KEYS = ['title', 'about', 'volts', 'units'];
const UNIT_KEYS = ['kind', 'about', 'dials'];
const VOLTS: NumberSpec = {
  type: 'voltage',
  min: 0.1,
  max: 100,
  fallback: 10,
  about: 'What a sample at full scale stands for.',
};
const CHANNEL: NumberSpec = {
  type: 'count',
  min: 1,
  max: 65_535,
  fallback: 1,
  about: 'Which channel of the recordings it is.',
};
const POSITION = /^[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)$/;
const CLIPS_RULE = 'positions and recordings, such as { 0: cutoff-0.wav, 5: cutoff-5.wav }';
/** A step between positions that is so many times the median step leaves a gap. */
const GAP = 3.5;
/** What any dial may say. */
const OF_ANY = ['channel', 'gaps'];
const FROM_NOISE = ['white', 'pink'];

/** What a dial may say beside its clips, by what it is told by. */
function optionsOf(toldBy: ToldBy): readonly string[] {
  switch (toldBy) {
    case 'cutoff':
    case 'q':
      return ['jack', 'input', ...OF_ANY];
    case 'level':
      return ['jack', ...OF_ANY];
    case 'share':
      return ['input', ...OF_ANY];
    case 'late':
      return ['trigger', ...OF_ANY];
    case 'spacing':
    case 'steps':
    case 'frequency':
    case 'interval':
    case 'rate':
    case 'duty':
    case 'length':
    case 'rise':
    case 'fall':
      return OF_ANY;
    default:
      return ['as', ...OF_ANY];
  }
}

/** @returns the file if nothing is wrong with it, and all problems in the order of the file. */
export function readDialClips(
  text: string,
  options: Options,
): { readonly dials?: DialClips; readonly problems: readonly Problem[] } {
  const report = new Report();
  const dials = dialClipsFrom(text, options, report);
  return dials !== undefined && report.count === 0
    ? { dials, problems: [] }
    : { problems: report.sorted(options.file) };
}

function dialClipsFrom(text: string, options: Options, report: Report): DialClips | undefined {
  const { file } = options;
  const tree = readYaml(sourceOf(file, text), report);
  if (tree?.type !== 'map') {
    if (report.count > 0) return undefined;
    const place = tree?.place ?? { file, line: 1, column: 1, length: 1 };
    const message =
      tree === undefined ? 'the file is empty' : `this is a ${tree.type}, not a dial file`;
    report.add('wrong-type', place, message, { expected: 'keys such as volts and units' });
    return undefined;
  }
  for (const { key, at } of tree.entries)
    if (!KEYS.includes(key))
      report.unknown('unknown-key', at, `a dial file has no ${quoted(key)}`, key, KEYS);
  const volts = numberOf(tree, 'volts', VOLTS, report);
  const units = entryOf(tree, 'units');
  const rule = 'units such as { bright: { dials: { cutoff: { 0: low.wav, 10: high.wav } } } }';
  if (units === undefined)
    report.add('missing', { ...tree.place, length: 1 }, 'it names no units', { expected: rule });
  const map = units && mapOf(units, rule, report);
  const title = entryOf(tree, 'title');
  return {
    file,
    title: (title && textOf(title, 'a text', report)?.text) ?? '',
    ...(volts !== undefined && { volts }),
    dials: (map?.entries ?? []).flatMap((entry) => dialsOf(entry, options, volts, report)),
  };
}

function dialsOf(
  entry: Entry,
  options: Options,
  volts: number | undefined,
  report: Report,
): readonly ClippedDial[] {
  const map = mapOf(
    entry,
    'its dials, such as { dials: { decay: { 0: a.wav, 5: b.wav } } }',
    report,
  );
  if (map === undefined) return [];
  for (const { key, at } of map.entries)
    if (!UNIT_KEYS.includes(key))
      report.unknown('unknown-key', at, `a unit has no ${quoted(key)} here`, key, UNIT_KEYS);
  const owned = ownedUnit(entry, options.rack, report);
  const definition = kindOf(entry, map, owned, options, report);
  const dials = entryOf(map, 'dials');
  if (dials === undefined)
    report.add('missing', entry.at, `${quoted(entry.key)} has no dials`, { expected: CLIPS_RULE });
  const each = dials && mapOf(dials, `settings, each with ${CLIPS_RULE}`, report);
  if (definition === undefined || each === undefined) return [];
  return each.entries.flatMap(
    (one) => dialOf(one, { unit: entry.key, definition, owned, volts }, options.file, report) ?? [],
  );
}

function ownedUnit({ key, at }: Entry, rack: Rack | undefined, report: Report): Unit | undefined {
  if (rack === undefined) return undefined;
  const owned = rack.units.find(({ name }) => name === key);
  if (owned === undefined) {
    const names = rack.units.map(({ name }) => name);
    report.unknown('unknown-name', at, `${rack.file} has no unit ${quoted(key)}`, key, names);
  }
  return owned;
}

function kindOf(
  { key, at }: Entry,
  map: MapNode,
  owned: Unit | undefined,
  { kinds, rack }: Options,
  report: Report,
): Definition | undefined {
  const entry = entryOf(map, 'kind');
  if (entry === undefined) {
    if (owned === undefined && rack === undefined)
      report.add('missing', at, `nothing says which kind ${quoted(key)} is`, {
        expected: 'its kind, such as kind: filter, or a rack to write into',
      });
    return owned?.definition;
  }
  const kind = textOf(entry, 'the kind of module', report);
  if (kind === undefined) return undefined;
  const definition = kinds.find((one) => one.kind === kind.text);
  if (definition === undefined) {
    reportUnknownKind(kind, kinds, report);
    return undefined;
  }
  if (owned === undefined || owned.definition === definition) return definition;
  const message = `${quoted(key)} is of the kind ${quoted(owned.definition.kind)} in ${rack?.file}`;
  report.add('wrong-type', kind.place, message);
  return undefined;
}

interface Whose {
  readonly unit: string;
  readonly definition: Definition;
  readonly owned: Unit | undefined;
  readonly volts: number | undefined;
}

function dialOf(entry: Entry, whose: Whose, file: string, report: Report): ClippedDial | undefined {
  const before = report.count;
  const { unit, definition, owned, volts } = whose;
  const spec = toldSpec(entry, definition, report);
  const map = mapOf(entry, CLIPS_RULE, report);
  if (spec === undefined || map === undefined) return undefined;
  if (owned !== undefined && Object.hasOwn(owned.fixed, entry.key))
    report.add(
      'duplicate',
      entry.at,
      `${quoted(entry.key)} is fixed on ${unit}, so it has no dial`,
    );
  if (spec.toldBy === 'level' && volts === undefined)
    report.add('missing', entry.at, 'nothing says what full scale of the recordings stands for', {
      expected: 'volts at the top of the file, such as volts: 10 V',
    });
  const legal = optionsOf(spec.toldBy);
  const others = map.entries.filter(({ key }) => !POSITION.test(key));
  for (const { key, at } of others)
    if (!legal.includes(key)) {
      const message = `${quoted(key)} is neither a position of the dial nor known of ${entry.key}`;
      report.unknown('unknown-key', at, message, key, legal);
    }
  const input = inputOf(map, file, report);
  if (spec.toldBy === 'share' && typeof input !== 'object')
    report.add('missing', entry.at, 'nothing says what goes in', {
      expected: 'a recording of it at the same gain, such as input: dry.wav',
    });
  const channel = numberOf(map, 'channel', CHANNEL, report);
  const trigger = numberOf(map, 'trigger', CHANNEL, report);
  if (
    spec.toldBy === 'late' &&
    (channel === undefined || trigger === undefined || channel === trigger)
  )
    report.add(
      'missing',
      entry.at,
      'nothing says which channel is the trigger and which the pulse',
      {
        expected: 'both in each recording, such as trigger: 1, channel: 2',
      },
    );
  const jack = legal.includes('jack')
    ? wordOf(map, 'jack', outputsOf(definition), report)
    : undefined;
  const heard = wordOf(map, 'as', ['sound', 'volts'], report) as ClippedDial['heard'] | undefined;
  const gaps = wordOf(map, 'gaps', ['meant'], report);
  const clips = clipsOf(entry, map, file, report);
  if (gaps === undefined) reportGaps(clips, report);
  if (report.count > before) return undefined;
  return {
    unit,
    definition,
    ...(owned && { owned }),
    setting: entry.key,
    spec,
    place: entry.at,
    jack: jack ?? outputsOf(definition)[0] ?? '',
    heard: heard ?? (isGlide(spec.toldBy) ? 'volts' : 'sound'),
    input: input ?? 'white',
    ...(channel !== undefined && { channel }),
    ...(trigger !== undefined && { trigger }),
    clips,
  };
}

function isGlide(toldBy: ToldBy): boolean {
  return toldBy === 'rise' || toldBy === 'fall';
}

function toldSpec(
  { key, at }: Entry,
  definition: Definition,
  report: Report,
): ClippedDial['spec'] | undefined {
  const told = Object.entries(definition.settings).flatMap(([name, spec]) =>
    'toldBy' in spec && spec.toldBy !== undefined ? [name] : [],
  );
  const spec = plainSpecOf(definition, key);
  if (spec !== undefined && 'toldBy' in spec && spec.toldBy !== undefined)
    return { ...spec, toldBy: spec.toldBy };
  const kind = quoted(definition.kind);
  if (told.length === 0)
    report.add('unknown-key', at, `no recording tells a setting of the kind ${kind}`, {
      expected: 'a dial of one of the kinds that forehear calibrate --help lists',
    });
  else
    report.unknown(
      'unknown-key',
      at,
      spec === undefined
        ? `${kind} has no setting ${quoted(key)}`
        : `no recording tells ${quoted(key)} of the kind ${kind}`,
      key,
      told,
    );
  return undefined;
}

function outputsOf(definition: Definition): readonly string[] {
  return jacksWith(definition, {}).flatMap(({ name, direction }) =>
    direction === 'out' ? [name] : [],
  );
}

function clipsOf(entry: Entry, map: MapNode, file: string, report: Report): readonly DialClip[] {
  const clips: DialClip[] = [];
  for (const one of map.entries) {
    if (!POSITION.test(one.key)) continue;
    const node = textOf(one, 'the WAV file that was recorded at this position', report);
    const path = node && pathOf(file, node.text, node.place, report);
    const position = Number(one.key);
    const twin = clips.find((clip) => clip.position === position);
    const same = clips.find((clip) => clip.path === path);
    if (twin !== undefined) {
      const message = `position ${position} is there already, on line ${twin.place.line}`;
      report.add('duplicate', one.at, message);
    } else if (node !== undefined && same !== undefined)
      report.add('duplicate', node.place, `this recording is that of position ${same.words} too`);
    else if (node !== undefined && path !== undefined)
      clips.push({ position, words: one.key, path, place: node.place });
  }
  const sorted = clips.sort((a, b) => a.position - b.position);
  if (sorted.length < 2) {
    const message = `${quoted(entry.key)} has ${counted(sorted.length, 'clip')}: a table has two positions at least`;
    report.add('range', entry.at, message, { expected: CLIPS_RULE });
  }
  return sorted;
}

/** A knob that was recorded closely except for one stretch: what it does there would be a guess. */
function reportGaps(clips: readonly DialClip[], report: Report): void {
  const steps = clips.slice(1).map(({ position }, k) => position - (clips[k]?.position ?? 0));
  const middling = steps.toSorted((a, b) => a - b)[(steps.length - 1) >> 1] ?? 0;
  if (steps.length < 3) return;
  steps.forEach((step, k) => {
    if (step <= GAP * middling) return;
    const [from, to] = [clips[k], clips[k + 1]] as [DialClip, DialClip];
    const between = Number(((from.position + to.position) / 2).toPrecision(3));
    report.add(
      'range',
      to.place,
      `no clip lies between the positions ${from.words} and ${to.words}`,
      {
        expected: `one there as well, such as at ${between}, since the others are ${Number(middling.toPrecision(3))} apart; or gaps: meant beside the clips, where the dial does nothing sudden there`,
      },
    );
  });
}

function inputOf(map: MapNode, file: string, report: Report): ClippedDial['input'] | undefined {
  const entry = entryOf(map, 'input');
  const node = entry && textOf(entry, 'white, pink or a recording of what goes in', report);
  if (node === undefined) return undefined;
  if (node.text === 'white' || node.text === 'pink') return node.text;
  if (!/\.wave?$/i.test(node.text)) {
    const message = `${quoted(node.text)} is not a noise that can go in`;
    report.add('unknown-name', node.place, message, {
      expected: `${FROM_NOISE.join(', ')} or a WAV file of what goes in`,
    });
    return undefined;
  }
  const path = pathOf(file, node.text, node.place, report);
  return path === undefined ? undefined : { path, place: node.place };
}

function pathOf(file: string, text: string, place: Place, report: Report): string | undefined {
  const path = resolvePath(file, text);
  if (path === undefined)
    report.add('recording', place, `${quoted(text)} is not a path from here`, {
      expected: 'a WAV file beside this one, or in a folder from here, such as clips/decay-5.wav',
    });
  return path;
}

function wordOf(
  map: MapNode,
  key: string,
  legal: readonly string[],
  report: Report,
): string | undefined {
  const entry = entryOf(map, key);
  const node = entry && textOf(entry, legal.join(' or '), report);
  if (node === undefined || legal.includes(node.text)) return node?.text;
  const message = `${quoted(key)} cannot be ${quoted(node.text)}`;
  report.unknown('unknown-name', node.place, message, node.text, legal);
  return undefined;
}

function numberOf(map: MapNode, key: string, spec: NumberSpec, report: Report): number | undefined {
  const entry = entryOf(map, key);
  const node = entry && textOf(entry, 'a number', report);
  if (node === undefined) return undefined;
  const reading = parseValue(node.text, spec, key);
  if (reading.fault === undefined) return reading.value;
  report.add(reading.fault.code, node.place, reading.fault.message, reading.fault);
  return undefined;
}
