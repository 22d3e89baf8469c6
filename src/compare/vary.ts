/**
 * Reads what is to be varied: a setting, `shape.decay=20ms,60ms,200ms` or a range, `20ms..500ms/8`; the output
 * plugged into an input, `bright.in=hiss.white,hiss.pink`; the file of a part, `hat=parts/a.yaml,parts/b.yaml`;
 * the rack; the seed.
 */

import type { SettingSpec, Span } from '../modules/definition.ts';
import { KINDS, type KindsOption } from '../modules/kinds.ts';
import type { Load } from '../patch/load.ts';
import { SET_FILE, setSource } from '../patch/overrides.ts';
import type { Patch } from '../patch/patch.ts';
import { isScoreSpec, parseSetting } from '../patch/settings.ts';
import { describeProblem } from '../patch/text/describe.ts';
import type { Problem } from '../patch/text/problem.ts';
import { fileText, loadTexts, type PatchTexts } from '../patch/texts.ts';
import { formatBriefly, formatValue, isInRatios, type PlainSpec } from '../patch/units.ts';
import { spread } from './spread.ts';
import { readVariant } from './variant.ts';

/** One setting, and the values it takes. */
export interface Variation {
  readonly path: string;
  /** As the patch would contain them. */
  readonly values: readonly string[];
}

/** The request cannot be compared; the message says why and what would be right. */
export class ComparisonError extends Error {}

/** The most values of one setting. */
const MOST_VALUES = 1024;
const NOT_HEARD = ['title', 'about'];
const OPTION = '--vary';

/**
 * Reads the variations of a patch.
 * @param written with every file that a variant names, see {@link withFiles}.
 * @param patch the patch of `written`, with nothing varied.
 * @param texts one variation each.
 * @throws ComparisonError with all faults of one of them.
 */
export function readVariations(
  texts: readonly string[],
  written: PatchTexts,
  patch: Patch,
  { kinds = KINDS }: KindsOption = {},
): readonly Variation[] {
  const variations = texts.map((text) => readVariation(text, { written, patch, kinds }));
  variations.forEach(({ path }, index) => {
    if (variations.findIndex((other) => other.path === path) !== index)
      throw new ComparisonError(
        `${OPTION}: ${path} is varied twice. Give all its values at once: ${path}=A,B,C.`,
      );
  });
  return variations;
}

/**
 * Adds the texts of the parts, racks and recordings that only variants have.
 * @param texts variations; {@link readVariations} reports the faults of those that are not files.
 * @param load gives the text of a part or a rack by its path; `loadRecording` that of a recording, the same
 *   unless given.
 * @throws ComparisonError with all faults of a file, or of the patch with it.
 */
export function withFiles(
  texts: readonly string[],
  written: PatchTexts,
  patch: Patch,
  load: Load,
  { kinds = KINDS, loadRecording = load }: KindsOption & { readonly loadRecording?: Load } = {},
): PatchTexts {
  let all = written;
  for (const text of texts) {
    const { path, items } = pieces(text);
    const isFile =
      path === 'rack' ||
      patch.modules.some(({ name }) => name.startsWith(`${path}.`)) ||
      isRecording(path, patch);
    // readVariations reports the other faults of these.
    if (!isFile || items.includes('') || (path === 'rack' && written.rack !== undefined)) continue;
    for (const item of items) {
      const set = `${path}=${item}`;
      const { texts: found, problems } = loadTexts(
        { ...all, set: [...all.set, set] },
        (file) => fileText(all, file) ?? load(file),
        {
          kinds,
          loadRecording: (file) => fileText(all, file) ?? loadRecording(file),
        },
      );
      all = { ...all, texts: found.texts };
      // Only here is it known why a file cannot be read.
      requireNone(problems, set, all);
    }
  }
  return all;
}

/** Whether a path is that of a setting that names a recording. */
function isRecording(path: string, { modules }: Patch): boolean {
  return modules.some(({ name, definition }) =>
    Object.entries(definition.settings).some(
      ([setting, spec]) => spec.type === 'recording' && `${name}.${setting}` === path,
    ),
  );
}

function pieces(text: string): { readonly path: string; readonly items: readonly string[] } {
  const equals = text.indexOf('=');
  return { path: text.slice(0, Math.max(0, equals)).trim(), items: split(text.slice(equals + 1)) };
}

/** What is varied, and how it is read again. */
interface VariedPatch extends Required<KindsOption> {
  readonly written: PatchTexts;
  readonly patch: Patch;
}

function readVariation(text: string, varied: VariedPatch): Variation {
  const { written, patch } = varied;
  const { path, items } = pieces(text);
  if (path === '') throw wrong(text, 'it varies nothing');
  if (NOT_HEARD.includes(path))
    throw wrong(
      text,
      `no "${path}" is heard; settings, cables, parts, the rack and the seed can be varied`,
    );
  if (path === 'rack' && written.rack !== undefined)
    throw wrong(text, '--rack names the rack for all variants, so it cannot be varied too');
  if (items.some((item) => item === '')) throw wrong(text, 'a value is missing');
  const spec = specOf(path, patch);
  const values = items.flatMap((item) => valuesOf(item, { ...varied, text, path, spec }));
  if (values.length > MOST_VALUES)
    throw wrong(text, `that is ${values.length} values, and at most ${MOST_VALUES} are compared`);
  values.forEach((value, index) => {
    const before = values.indexOf(value);
    if (before !== index) throw wrong(text, `it has ${value} twice`);
  });
  return { path, values };
}

interface VariedPlace extends VariedPatch {
  readonly text: string;
  readonly path: string;
  readonly spec: PlainSpec | undefined;
}

/** Gives a single value, or those of a range. */
function valuesOf(item: string, place: VariedPlace): readonly string[] {
  const { path, spec, text } = place;
  const range = /^(.+?)\s*\.\.\s*(.+?)(?:\s*\/\s*([^/]*))?$/.exec(item);
  if (range === null || spec?.type === 'choice' || spec?.type === 'flag') {
    requireReadable(path, item, place);
    return [canonical(item, spec, path)];
  }
  const [, first, last, count] = range as unknown as [string, string, string, string?];
  for (const end of [first, last]) requireReadable(path, end, place);
  if (spec === undefined || spec.type === 'rate')
    throw wrong(text, `${path} is not a single number, so it has no range; list its values`);
  if (
    count === undefined ||
    !/^\d+$/.test(count) ||
    Number(count) < 2 ||
    Number(count) > MOST_VALUES
  )
    throw wrong(
      text,
      `a range needs how many values it is to give, from 2 to ${MOST_VALUES}, such as ${first}..${last}/8`,
    );
  return rangeOf(endOf(first, spec, path), endOf(last, spec, path), Number(count), place);
}

interface RangeEnd {
  readonly value: number;
  readonly quantity: Exclude<PlainSpec['type'], 'choice' | 'flag' | 'span' | 'rate'>;
}

function endOf(text: string, spec: PlainSpec, path: string): RangeEnd {
  const value = settingOf(text, spec, path);
  if (spec.type === 'span') {
    const span = value as Span;
    return { value: span.value, quantity: span.unit === 'steps' ? 'percent' : 'time' };
  }
  return { value: value as number, quantity: spec.type as RangeEnd['quantity'] };
}

function rangeOf(
  from: RangeEnd,
  to: RangeEnd,
  count: number,
  { text, path }: VariedPlace,
): readonly string[] {
  const { quantity } = from;
  if (quantity !== to.quantity)
    throw wrong(text, 'a range goes from a time to a time, or from a share to a share');
  if (from.value === to.value) throw wrong(text, 'both ends of the range are the same');
  if (isInRatios(quantity) && !(from.value * to.value > 0))
    throw wrong(
      text,
      `the steps of ${path} are equal ratios, so neither end of the range can be 0 and both need the same sign`,
    );
  const values = spread(from.value, to.value, count, quantity);
  if (new Set(values).size < count)
    throw wrong(text, `there are only ${new Set(values).size} values in this range, not ${count}`);
  return values.map((value) => formatValue(value, quantity));
}

/** The value as the patch would write it, so that 20ms and 0.02 s are the same. */
function canonical(item: string, spec: PlainSpec | undefined, path: string): string {
  if (spec === undefined) return item;
  const value = settingOf(item, spec, path);
  if (typeof value !== 'number' || spec.type === 'choice' || spec.type === 'flag') return item;
  // If four digits are not enough, another value would be compared.
  const brief = formatBriefly(value, spec.type as RangeEnd['quantity']);
  return settingOf(brief, spec, path) === value ? brief : item;
}

/** The value of a text that has been read already without a fault. */
function settingOf(text: string, spec: PlainSpec, path: string): unknown {
  const reading = parseSetting(text, spec, path);
  return reading.fault ? undefined : reading.value;
}

/** Throws the faults of one value, as problems of the option and not of the file. */
function requireReadable(path: string, value: string, { written, kinds }: VariedPatch): void {
  const set = `${path}=${value}`;
  requireNone(readVariant(written, [set], { kinds }).problems, set, written);
}

/** Throws the problems that a patch has with something set in addition to `written`. */
function requireNone(problems: readonly Problem[], set: string, written: PatchTexts): void {
  if (problems.length === 0) return;
  const own = written.set.length + 1;
  const sourceOf = (file: string): string | undefined =>
    file === OPTION ? setSource([set]) : fileText(written, file);
  const isOwn = problems.some(({ place }) => place.file === SET_FILE && place.line === own);
  throw new ComparisonError(
    // A problem that a variant causes in the file's own lines needs the variant's name.
    (isOwn ? '' : `${OPTION} ${set}: with that, the patch has\n`) +
      problems
        .map((problem) => {
          const { place } = problem;
          return place.file === SET_FILE && place.line === own
            ? { ...problem, place: { ...place, file: OPTION, line: 1 } }
            : problem;
        })
        .map((problem) => describeProblem(problem, sourceOf))
        .join('\n\n'),
  );
}

/** The spec of a setting that is one text; undefined for a deeper path, such as one pattern's swing. */
function specOf(path: string, patch: Patch): PlainSpec | undefined {
  const dot = path.lastIndexOf('.');
  const module = patch.modules.find(({ name }) => name === path.slice(0, Math.max(0, dot)));
  const spec: SettingSpec | undefined = module?.definition.settings[path.slice(dot + 1)];
  return spec === undefined ||
    spec.type === 'row' ||
    spec.type === 'rows' ||
    spec.type === 'recording' ||
    isScoreSpec(spec)
    ? undefined
    : spec;
}

/** Cuts at commas that are not inside brackets or quotation marks. */
function split(text: string): string[] {
  const items = [''];
  let depth = 0;
  let quote = '';
  for (const letter of text) {
    if (quote !== '') {
      if (letter === quote) quote = '';
    } else if (letter === '"' || letter === "'") quote = letter;
    else if (letter === '[' || letter === '{') depth++;
    else if (letter === ']' || letter === '}') depth--;
    else if (letter === ',' && depth <= 0) {
      items.push('');
      continue;
    }
    items[items.length - 1] += letter;
  }
  return items.map((item) => item.trim());
}

function wrong(text: string, why: string): ComparisonError {
  return new ComparisonError(
    `${OPTION} ${text}: ${why}.\n  expected MODULE.SETTING=A,B,C or a range, such as shape.decay=20ms,60ms,200ms or shape.decay=20ms..500ms/8, or INPUT=OUTPUT,OUTPUT, such as bright.in=hiss.white,hiss.pink`,
  );
}
