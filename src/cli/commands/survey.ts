/** `forehear survey`: what to measure at the cabinet before a patch is trusted, the least certain first. */

import { existsSync } from 'node:fs';
import type { Command } from 'commander';
import { prepared } from '../../engine/prepared.ts';
import { replaceTexts } from '../../files/whole-file.ts';
import { inTime } from '../../findings/spoken.ts';
import { surveyOf } from '../../findings/survey.ts';
import { type Blank, blanksOf, takenFor, worthOf } from '../../findings/survey-blanks.ts';
import { holdsText, type SurveyPoint } from '../../findings/survey-point.ts';
import { untimedOf } from '../../findings/survey-times.ts';
import { inVolts, listed } from '../../findings/words.ts';
import { surveyPage } from '../../output/sheet/survey-page.ts';
import { counted } from '../../patch/text/counted.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { jsonOption, PATCH_HELP, quietOption, rackOption, setOption } from '../options.ts';
import { HTML, OutputOption, PATCH, planOutputs } from '../outputs.ts';
import { onAnotherRack, readWithTexts } from '../read-patch.ts';
import { replacedText } from '../reports/replaced-facts.ts';
import { type Answered, answered, blanksText } from '../reports/survey-blanks.ts';
import { say, sayJson, tell } from '../standard-output.ts';
import { table } from '../table.ts';

interface Options {
  rack?: string;
  set: string[];
  sheet?: string;
  blanks?: string;
  force?: true;
  answers?: string;
  into?: string;
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('survey')
    .argument('<patch>', PATCH_HELP)
    .summary('list what to measure at the cabinet, the least certain first')
    .description(
      'List the trigger inputs to hold a probe to, with the volts and times to expect there and room to write ' +
        'down what is found, the least certain first; and the facts that are worth knowing.',
    )
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(new OutputOption('--sheet <file>', 'write it as a form to print, in HTML'))
    .addOption(
      new OutputOption(
        '--blanks <file>',
        'write a rack file with a blank for each fact worth knowing',
      ),
    )
    .option(
      '--force',
      'write over a file of blanks that is there, filled in or not, and over a form that Forehear did not make',
    )
    .option('--answers <file>', 'with --into: such a file, filled in')
    .option('--into <file>', 'check the answers and write them into this rack')
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options): Promise<void> {
  const { rack, set, sheet, blanks: blanksFile, force, answers, into, json, quiet } = options;
  if ((answers === undefined) !== (into === undefined))
    throw wrongRequest(
      '--answers and --into go together: what was filled in, and the rack it goes into.',
    );
  if (answers !== undefined && (sheet ?? blanksFile) !== undefined)
    throw wrongRequest('--answers takes over what was found: leave out --sheet and --blanks.');
  if (force && (sheet ?? blanksFile) === undefined)
    throw wrongRequest('--force is of --sheet and --blanks: say which file with one of them.');
  if (json && [sheet, blanksFile].includes('-'))
    throw wrongRequest('-: standard output takes one thing, and --json is another.');
  const { patch, texts: read } = readWithTexts(file, set, rack);
  if (answers !== undefined && into !== undefined) {
    let onRack = patch;
    const found = answered(answers, into, (text) => {
      const reading = onAnotherRack(read, into, text);
      onRack = reading.patch ?? patch;
      return reading;
    });
    replaceTexts([{ ...found.rack }]);
    const after = surveyOf(onRack);
    if (json)
      sayJson({
        into,
        answers: found.answers,
        replaced: found.replaced,
        madeFor: found.madeFor ?? null,
        points: after.map(asData),
      });
    else if (!quiet) {
      const was = onAnotherRack(read, into, found.rack.before).patch ?? patch;
      say(takenText(found, surveyOf(was), after));
    }
    return;
  }
  const all = prepared(patch);
  const points = surveyOf(all);
  const outputs = planOutputs(
    [
      ...(sheet === undefined ? [] : [{ option: '--sheet', path: sheet, format: HTML }]),
      ...(blanksFile === undefined
        ? []
        : [{ option: '--blanks', path: blanksFile, format: PATCH }]),
    ],
    force,
  );
  // Someone may have filled the file in.
  if (blanksFile !== undefined && blanksFile !== '-' && !force && existsSync(blanksFile))
    throw wrongFile(
      blanksFile,
      'this file exists; it was left alone. Choose another with --blanks, or overwrite it with --force.',
    );
  const blanks = blanksOf(all, points);
  const untimed = untimedOf(all);
  const texts = [
    ...(sheet === undefined ? [] : [surveyPage(patch.title, points, blanks, untimed)]),
    ...(blanksFile === undefined
      ? []
      : [blanksText(patch.title, blanks, rack ?? patch.rack?.path)]),
  ];
  for (const [k, output] of outputs.entries()) {
    output.write(texts[k] as string);
    await output.deliver();
  }
  const files = outputs.map(({ path }) => path);
  if (json)
    sayJson({
      points: points.map(asData),
      blanks: blanks.map(blankData),
      untimed,
      files: files.map((path) => ({ path })),
    });
  else if (!quiet) {
    const words = [
      asText(points, untimed),
      ...blankLines(blanks),
      ...(files.length > 0 ? [files.join('\n')] : []),
    ];
    if (outputs.some(({ isStandard }) => isStandard)) tell(asText(points, untimed));
    else say(words.join('\n\n'));
  }
}

/** Blanks that are printed one by one. */
const MOST_BLANKS = 8;

function blankLines(blanks: readonly Blank[]): readonly string[] {
  if (blanks.length === 0) return [];
  const rows = blanks
    .slice(0, MOST_BLANKS)
    .map((blank) => [
      `${blank.unit}.${blank.jack}`,
      blank.fact,
      takenFor(blank),
      atOf(blank.at, blank.measure),
      `${holdsText(blank.then)}, now ${holdsText(blank.holds)}`,
    ]);
  const more =
    blanks.length > MOST_BLANKS
      ? `\n${blanks.length - MOST_BLANKS} more: --blanks and --sheet have all.`
      : '';
  const head = ['of', 'fact', 'assumed', 'makes surer', 'holds until'];
  return [
    `Worth knowing, what makes the least certain surer first:\n\n${table([head, ...rows])}${more}`,
  ];
}

function blankData(blank: Blank): object {
  const percent = (share: number | undefined): number | null =>
    share === undefined ? null : Math.round(100 * share);
  const { holds, then, ...rest } = blank;
  return {
    ...rest,
    holdsPercent: percent(holds),
    thenPercent: percent(then),
    worthPercent: percent(worthOf(blank)),
  };
}

function takenText(
  { answers, replaced, rack, madeFor }: Answered,
  before: readonly SurveyPoint[],
  after: readonly SurveyPoint[],
): string {
  const written = answers.map(({ unit, jack, fact, text }) => `  ${unit}.${jack} ${fact}: ${text}`);
  const nameOf = ({ jack, measure }: SurveyPoint): string => atOf(jack, measure);
  const was = new Map(before.map((point) => [nameOf(point), holdsText(point.holds)]));
  const rows = after.map((point) => [nameOf(point), holdsText(point.holds)] as const);
  const listed = new Set(rows.map(([name]) => name));
  const moved = [
    ...rows.map(([name, holds]) => [name, was.get(name) ?? 'as its volts', holds]),
    // A time that no longer fails before the volts do is not listed.
    ...[...was].filter(([name]) => !listed.has(name)).map((one) => [...one, 'as its volts']),
  ].filter(([, before, now]) => before !== now);
  const how =
    moved.length === 0
      ? 'No trigger input holds further or less for it.'
      : table([['at', 'held until', 'now'], ...moved]);
  const others = replaced.map((one) => `  ${one.unit}.${one.jack} ${replacedText(one)}`);
  const whose =
    madeFor === undefined
      ? ''
      : `\n\nThe blanks were made for ${madeFor}: if ${rack.path} is another cabinet, take them out again and measure there.`;
  return `into ${rack.path}\n${[...written, ...others].join('\n')}\n\n${how}${whose}`;
}

/** The shape that scripts rely on; an input that holds however far parts are off has null. */
function asData({ holds, ...point }: SurveyPoint): object {
  return { ...point, holdsPercent: holds === undefined ? null : Math.round(100 * holds) };
}

function asText(points: readonly SurveyPoint[], untimed: readonly string[]): string {
  if (points.length === 0) return 'Nothing drives a trigger input, so there is none to measure.';
  const rows = points.map((point) => [
    point.jack,
    point.drivers.join(' + '),
    ...expectedOf(point),
    holdsText(point.holds),
    point.measure === 'volts' ? '_____ / _____' : '_____',
  ]);
  const head = ['at', 'driven by', 'idle', 'on', 'fires', 'holds until', 'found: idle / on'];
  const note =
    untimed.length === 0
      ? ''
      : `\n\nNot timed, since no pulse came to them in what was played: ${listed(untimed)}.`;
  const inputs = new Set(points.map(({ jack }) => jack)).size;
  return `${counted(inputs, 'trigger input')}, the least certain first. Plug what drives it and hold the probe to the jack.\n\n${table([head, ...rows])}${note}`;
}

/** What to expect at rest and while on, and what the input asks for; of a time, which one it is and how long. */
function expectedOf(point: SurveyPoint): readonly string[] {
  switch (point.measure) {
    case 'volts':
      return [
        inVolts(point.idle),
        inVolts(point.driven),
        `${point.type === 'voltage' ? 'over' : 'under'} ${inVolts(point.on)}`,
      ];
    case 'width':
      return ['width', inTime(point.time), `from ${inTime(point.limit)}`];
    case 'lateness':
      return ['lateness', inTime(point.time), `late from ${inTime(point.limit)}`];
  }
}

/** What of an input is meant, as a cell of a table. */
function atOf(jack: string, measure: SurveyPoint['measure']): string {
  return measure === 'volts' ? jack : `${jack}, ${measure}`;
}

const EXAMPLES = `
Examples:
  forehear survey patches/closed-hat.yaml
  forehear survey my-kit.yaml --rack patches/racks/teaching-cabinet.yaml --json
  forehear survey my-kit.yaml --rack my-rack.yaml --sheet survey.html --blanks found.yaml
  forehear survey my-kit.yaml --answers found.yaml --into my-rack.yaml

"Holds until 20 % off" means: with every resistance, level, threshold and time up to 20 % off, and all of
them the wrong way, the input still fires and lets go. Gates are short, so take an oscilloscope; a
meter does where a switch or a knob holds them.

A time has a line of its own where it fails before the volts do: the width of the shortest pulse,
from where the input goes on to where it is ready again, against the shortest that it notices; and
the lateness of a slow edge, from where it begins to where the input goes on. Pulses that only playing
the patch tells are played; inputs that none came to meanwhile are named.

Facts come in the order of the inputs that they make surer, those of one jack and of one unit together;
form and blanks are in the same order. What a fact is worth is by how much further all else may be off
once it is known to 1 %; one that the rack states less closely is listed too. --blanks writes the facts
as a rack file; fill in what you found, with how far off it may be ("5.1 V +- 0.05 V", "1.05 ms +- 0.01
ms"), and leave the rest blank.
--answers checks them as the rack does, writes them into it, and says which inputs hold further now.
Check, volts and sheet then go by them.`;
