/** `forehear check`: what will go wrong with a patch, and what to do about it. */

import type { Command } from 'commander';
import { countsOf, findingsIn } from '../../findings/check.ts';
import { contextOf } from '../../findings/context.ts';
import type { Finding, Rule, Severity } from '../../findings/finding.ts';
import { findingJacks } from '../../findings/gathered.ts';
import { RULES, ruleNamed } from '../../findings/rules/rules.ts';
import { capitalised } from '../../findings/words.ts';
import { jackName } from '../../patch/patch.ts';
import { framePlace } from '../../patch/text/describe.ts';
import { nearest, someOf } from '../../patch/text/nearest.ts';
import { fileText, type PatchTexts } from '../../patch/texts.ts';
import { EXIT, wrongRequest } from '../exit.ts';
import {
  jsonOption,
  PATCH_HELP,
  quietOption,
  rackOption,
  setOption,
  toleranceOption,
} from '../options.ts';
import { type PatchOfFiles, readWithTexts } from '../read-patch.ts';
import { say, sayJson } from '../standard-output.ts';
import { table, wrapped } from '../table.ts';

interface Options {
  explain?: string | true;
  tolerance: number;
  fix?: true;
  write?: true;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('check')
    .argument('[patch]', PATCH_HELP)
    .summary('say what will go wrong with a patch')
    .description(
      'Say what will go wrong with a patch, why, and what to do about it. Ends with 1 if it has a fault.',
    )
    .option('--explain [rule]', 'explain a rule, or list them all')
    .addOption(
      toleranceOption(
        'worst cases, with every resistance, level, threshold and time of a jack off by up to this',
      ),
    )
    .option(
      '--fix',
      'print the changes that would mend it, those of a file of an earlier version too, as a unified diff',
    )
    .option('--write', 'with --fix: make the changes in the files')
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string | undefined, options: Options): Promise<void> {
  if (options.explain !== undefined) {
    explain(options.explain, options.json === true);
    return;
  }
  if (file === undefined)
    throw wrongRequest('A patch file is missing: forehear check PATCH. See forehear check --help.');
  if (options.write && !options.fix)
    throw wrongRequest('--write makes the changes of --fix: give both.');
  if (options.fix) {
    const { mend, readToMend } = await import('../mend.ts');
    const { found, left } = await mend(readToMend(file, options.set, options), options);
    process.exitCode = countsOf(options.write ? left : found).fault > 0 ? EXIT.fault : EXIT.done;
    return;
  }
  const reading = readWithTexts(file, options.set, options.rack);
  const findings = findingsIn(contextOf(reading.patch, options.tolerance));
  if (options.json) sayJson({ findings: findings.map(findingsAsData) });
  else if (!options.quiet) say(findingsAsText(findings, reading));
  if (countsOf(findings).fault > 0) process.exitCode = EXIT.fault;
}

const HEADINGS: readonly [Severity, string, string][] = [
  [
    'fault',
    'fault: it will not do what the patch says',
    'faults: it will not do what the patch says',
  ],
  ['caution', 'caution: it may not, or it may do harm', 'cautions: it may not, or it may do harm'],
  ['note', 'note', 'notes'],
];

/** The findings by severity, each with the line it is about. */
function findingsAsText(findings: readonly Finding[], { patch, texts }: PatchOfFiles): string {
  const names = new Set(patch.modules.map(({ name }) => name));
  if (findings.length === 0) return 'Nothing found: it will do what the patch says.';
  return HEADINGS.flatMap(([severity, one, several]) => {
    const group = findings.filter((finding) => finding.severity === severity);
    if (group.length === 0) return [];
    const heading = `${group.length} ${group.length === 1 ? one : several}`;
    return [heading, ...group.map((finding) => describe(finding, texts, names))];
  }).join('\n\n');
}

function describe(finding: Finding, texts: PatchTexts, names: ReadonlySet<string>): string {
  const { place, rule, message, fix } = finding;
  return [
    `${place.file}:${place.line}:${place.column}: ${rule}`,
    ...framePlace(place, fileText(texts, place.file)),
    indented(begun(message, names)),
    indented(`To mend it: ${fix}`),
  ].join('\n');
}

function indented(text: string): string {
  return table([['', text]]);
}

/** A sentence with a capital, unless it begins with the name of a module, which stays as in the file. */
function begun(text: string, names: ReadonlySet<string>): string {
  const [word] = /^[a-z]+(?=[ ,])/.exec(text) ?? [];
  return word === undefined || names.has(word) ? text : capitalised(text);
}

/** The shape that scripts rely on. */
function findingsAsData(finding: Finding): object {
  const { rule, severity, message, fix, place, jack, figures } = finding;
  return {
    rule,
    severity,
    message,
    fix,
    file: place.file,
    line: place.line,
    column: place.column,
    jack: jack === undefined ? null : jackName(jack),
    jacks: findingJacks(finding).map(jackName),
    figures,
    ways: finding.ways ?? [],
  };
}

function explain(name: string | true, json: boolean): void {
  if (name === true) {
    if (json) sayJson({ rules: RULES.map(pageData) });
    else
      say(
        `${table(RULES.map((rule) => [rule.name, rule.explanation.what]))}\n\nforehear check --explain RULE explains one.`,
      );
    return;
  }
  const rule = ruleNamed(name);
  if (rule === undefined) {
    const names = RULES.map((one) => one.name);
    const near = nearest(name, names);
    throw wrongRequest(
      `There is no rule "${name}". ${near === undefined ? '' : `Did you mean ${near}? `}The rules are ${someOf(name, names, '"forehear check --explain" lists all')}.`,
    );
  }
  if (json) sayJson(pageData(rule));
  else say(page(rule));
}

function page({ name, explanation: { what, why, sum, mend } }: Rule): string {
  const section = (title: string, text: string): string => `${title}\n${table([['', text]])}`;
  return [
    name,
    wrapped(what),
    section('Why it happens', why),
    section('The sum behind it', sum),
    section('How to mend it', mend),
  ].join('\n\n');
}

function pageData({ name, explanation }: Rule): object {
  return { rule: name, ...explanation };
}

const EXAMPLES = `
Examples:
  forehear check patches/closed-hat.yaml
  forehear check my-kit.yaml --rack patches/racks/teaching-cabinet.yaml --tolerance 5%
  forehear check my-kit.yaml --fix                 the changes that would mend it
  forehear check my-kit.yaml --fix --write         make them
  forehear check --explain voltage-into-switch     what a rule is about`;
