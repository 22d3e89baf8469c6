/** `survey --blanks` and `--answers`: a rack file with blanks for what is worth measuring, and what was filled in. */

import { contextOf } from '../../findings/context.ts';
import { jackMisnamed } from '../../findings/rules/jack-misnamed.ts';
import {
  type Blank,
  blanksBy,
  howTo,
  takenFor,
  worthOf,
  worthText,
} from '../../findings/survey-blanks.ts';
import { inPercent } from '../../findings/words.ts';
import { KINDS } from '../../modules/kinds.ts';
import { applyEdits } from '../../patch/edit/edit.ts';
import type { Patch } from '../../patch/patch.ts';
import { baseName } from '../../patch/paths.ts';
import { rackFrom } from '../../patch/rack/rack.ts';
import { readRack } from '../../patch/rack/read-rack.ts';
import { type Entry, entryOf, type MapNode, type Node } from '../../patch/text/nodes.ts';
import type { Place } from '../../patch/text/place.ts';
import type { Problem } from '../../patch/text/problem.ts';
import { Report } from '../../patch/text/report.ts';
import { sourceOf } from '../../patch/text/source.ts';
import { readYaml } from '../../patch/text/yaml.ts';
import { jsonText } from '../../text/printable.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { problemsStop, readPart } from '../read-patch.ts';
import { rackOfFile } from '../read-rack.ts';
import { type Replaced, replacedIn } from './replaced-facts.ts';

/**
 * The blanks as a rack file, by unit and jack.
 * @param rack the file of the rack that they are of, if there is one.
 */
export function blanksText(title: string, blanks: readonly Blank[], rack?: string): string {
  const lines = [
    `title: ${jsonText(`What to measure for ${title}`)}`,
    'about: >',
    '  Write behind the colon what you found, with its unit and how far off it may be, such as',
    '  5.1 V +- 0.05 V. What stays blank stays as it is. Then: forehear survey PATCH --answers THIS --into RACK',
    ...(rack === undefined ? [] : [`rack: ${jsonText(rack)}`]),
    '',
    'units:',
  ];
  for (const ofUnit of blanksBy(blanks, ({ unit }) => unit)) {
    const [first] = ofUnit;
    lines.push(`  ${first?.unit}:`, `    kind: ${first?.kind}`, '    jacks:');
    for (const ofJack of blanksBy(ofUnit, ({ jack }) => jack)) {
      lines.push(`      ${ofJack[0]?.jack}:`);
      for (const blank of ofJack) {
        const known = blank.doubt === undefined ? 'assumed' : 'what the rack says';
        lines.push(
          `        # ${takenFor(blank)} is ${known}; ${howTo(blank)}.`,
          `        # Worth ${blank.then === undefined ? 'over ' : ''}${inPercent(worthOf(blank))}: ${worthText(blank)}.`,
          `        ${blank.fact}:`,
        );
      }
    }
  }
  return `${lines.join('\n')}\n`;
}

/** What was filled in. */
export interface Answer {
  readonly unit: string;
  readonly jack: string;
  readonly fact: string;
  /** As it was written. */
  readonly text: string;
  /** V, ohm or s. */
  readonly value: number;
}

export interface Answered {
  readonly answers: readonly Answer[];
  /** What the rack said before of what was filled in. */
  readonly replaced: readonly (Replaced & { readonly unit: string; readonly jack: string })[];
  readonly rack: { readonly path: string; readonly before: string; readonly after: string };
  /** The file of the rack that the blanks were of, where that has another name than the one they go into. */
  readonly madeFor: string | undefined;
}

/** The patch that results from a rack's text, or only the rack's problems. */
export type ReadOn = (rack: string) => {
  readonly patch?: Patch | undefined;
  readonly problems: readonly Problem[];
};

/**
 * Checks answers as the facts of the rack that they go into, and returns that rack's text with them.
 * @param readOn reads the patch on the new text of that rack, which must still have no problems.
 * @throws Stop for a file that is not a rack, an impossible answer, a unit that the rack does not have,
 *   and where nothing was filled in. Nothing is written.
 */
export function answered(
  file: string,
  into: string,
  readOn: ReadOn = (text) => ({ problems: readRack(text, { file: into, kinds: KINDS }).problems }),
): Answered {
  const text = readPart(file);
  if (typeof text !== 'string')
    throw wrongFile(
      file,
      text === undefined
        ? 'there is no such file.'
        : `this ${text.why}; filled-in blanks were expected.`,
    );
  const texts = { main: file, set: [], texts: { [file]: text } };
  const report = new Report();
  const source = sourceOf(file, text);
  const tree = readYaml(source, report);
  if (report.count > 0) throw problemsStop(report.sorted(file), texts);
  const map = tree?.type === 'map' ? tree : undefined;
  // With spaces in place of its blanks, so that places stay the same, the text must be a rack.
  const bare = map === undefined ? source.text : withoutBlanks(source.text, source.lineStarts, map);
  const written = factsIn(map);
  const filled = rackFrom(file, bare, KINDS, report, false);
  if (filled === undefined || report.count > 0) throw problemsStop(report.sorted(file), texts);
  if (written.length === 0)
    throw wrongRequest(`--answers ${file}: nothing is filled in. Nothing is written.`);
  const { rack, text: before } = rackOfFile(into);
  let after = before;
  const answers: Answer[] = [];
  for (const { unit, jack, fact, words, entry } of written) {
    const owned = rack.units.find(({ name }) => name === unit);
    const said = filled.units.find(({ name }) => name === unit);
    if (owned === undefined) {
      const names = rack.units.map(({ name }) => name);
      report.unknown(
        'unknown-name',
        said?.place ?? entry.at,
        `${into} has no unit ${unit}`,
        unit,
        names,
      );
      continue;
    }
    if (said !== undefined && said.definition !== owned.definition) {
      const message = `${unit} is of the kind ${owned.definition.kind} in ${into}, not ${said.definition.kind}`;
      report.add('wrong-type', said.place, message);
      continue;
    }
    const path = ['units', unit, 'jacks', jack, fact];
    const next = applyEdits(into, after, [{ type: 'set-value', file: into, path, text: words }]);
    if (next === undefined)
      report.add(
        'syntax',
        entry.at,
        `${path.slice(1).join('.')} cannot be changed in place in ${into}`,
      );
    else after = next;
    const value = said?.jacks.get(jack)?.values[fact] ?? 0;
    answers.push({ unit, jack, fact, text: words, value });
  }
  const { patch, problems: wrong } = report.count > 0 ? { problems: [] } : readOn(after);
  const there = wrong.length > 0 ? factsIn(readYaml(sourceOf(into, after), new Report())) : [];
  const answerAt = (unit: string | undefined, jack: string | undefined): WrittenFact | undefined =>
    written.find((one) => one.unit === unit && one.jack === jack);
  for (const problem of wrong) {
    // A problem of the rack with the answers in it is reported at the answer that causes it.
    const { line, column } = problem.place;
    const at = there.find(({ at, entry }) =>
      [at, entry.at, entry.value.place].some((one) => one.line === line && one.column === column),
    );
    const place = (answerAt(at?.unit, at?.jack) ?? (written[0] as WrittenFact)).entry.value.place;
    report.add(problem.code, place, `in ${into}: ${problem.message}`, problem);
  }
  for (const { message, figures } of patch === undefined
    ? []
    : jackMisnamed.find(contextOf(patch))) {
    const one = written.find(({ jack }) => jack === figures.named);
    if (one !== undefined)
      report.add('unknown-jack', one.at, message, { nearest: String(figures.nearest) });
  }
  if (report.count > 0) throw problemsStop(report.sorted(file), texts);
  const { rack: now } = readRack(after, { file: into, kinds: KINDS });
  const made = map && entryOf(map, 'rack')?.value;
  return {
    answers,
    replaced: replacedIn(rack, now, answers),
    rack: { path: into, before, after },
    // Where it lies says nothing: an answer may come from another machine.
    madeFor:
      made?.type === 'text' && baseName(made.text) !== baseName(into) ? made.text : undefined,
  };
}

interface WrittenFact {
  readonly unit: string;
  readonly jack: string;
  readonly fact: string;
  readonly words: string;
  /** Of its jack's name. */
  readonly at: Place;
  readonly entry: Entry;
}

function factsIn(tree: Node | undefined): readonly WrittenFact[] {
  const units = tree?.type === 'map' ? entryOf(tree, 'units') : undefined;
  return entriesOf(units).flatMap((unit) =>
    entriesOf(entriesOf(unit).find(({ key }) => key === 'jacks')).flatMap((jack) =>
      entriesOf(jack).flatMap((entry) => {
        const words = entry.value.type === 'text' ? entry.value.text : '';
        return words === ''
          ? []
          : [{ unit: unit.key, jack: jack.key, fact: entry.key, words, at: jack.at, entry }];
      }),
    ),
  );
}

function entriesOf(entry: Entry | undefined): readonly Entry[] {
  return entry?.value.type === 'map' ? entry.value.entries : [];
}

/** The text with spaces for every blank fact, and for every jack and unit that has only blanks. */
function withoutBlanks(text: string, lineStarts: readonly number[], tree: MapNode): string {
  let bare = text;
  const blank = ({ at }: Entry): void => {
    const from = (lineStarts[at.line - 1] ?? 0) + at.column - 1;
    const colon = bare.indexOf(':', from + at.length);
    // In a flow map the comma goes too.
    const comma = /^ *,/.exec(bare.slice(colon + 1))?.[0].length ?? 0;
    const to = colon + 1 + comma;
    bare = bare.slice(0, from) + ' '.repeat(to - from) + bare.slice(to);
  };
  for (const unit of entriesOf(entryOf(tree, 'units'))) {
    const jacks = entriesOf(unit).find(({ key }) => key === 'jacks');
    const left = entriesOf(jacks).map((jack) => {
      const facts = entriesOf(jack);
      const empty = facts.filter(({ value }) => value.type === 'text' && value.text === '');
      for (const one of empty) blank(one);
      const isEmpty = facts.length > 0 && empty.length === facts.length;
      if (isEmpty) blank(jack);
      return isEmpty;
    });
    if (jacks !== undefined && left.length > 0 && left.every((isEmpty) => isEmpty)) blank(jacks);
  }
  return bare;
}
