/** `forehear kinds`: the kinds of module, or one kind's settings, jacks and electrical facts. */

import type { Command } from 'commander';
import type { Definition, Jack, SettingSpec } from '../../modules/definition.ts';
import { KINDS, kindNamed } from '../../modules/kinds.ts';
import { electrical } from '../../output/format-reference.ts';
import { kindMeant } from '../../patch/kind.ts';
import { RECORDING_RULE } from '../../patch/recording/read-recording.ts';
import { expectedRow, expectedRows, formatRow, formatRows } from '../../patch/score/row.ts';
import { expectedOf } from '../../patch/settings.ts';
import { nearest, someOf } from '../../patch/text/nearest.ts';
import { formatBriefly, formatValue, type PlainSpec } from '../../patch/units.ts';
import { wrongRequest } from '../exit.ts';
import { jsonOption } from '../options.ts';
import { say, sayJson } from '../standard-output.ts';
import { table, wrapped } from '../table.ts';

export function register(program: Command): void {
  program
    .command('kinds')
    .argument('[kind]', 'one kind, such as envelope')
    .summary('list the kinds of module, or show one')
    .description(
      'List every kind of module, or show one with its settings, jacks and electrical facts.',
    )
    .addOption(jsonOption())
    .addHelpText('after', '\nExamples:\n  forehear kinds\n  forehear kinds envelope')
    .action((kind: string | undefined, { json }: { json?: true }) => {
      const shown = kind === undefined ? KINDS : [found(kind)];
      if (json) sayJson({ kinds: shown.map(asData) });
      else say(kind === undefined ? list(shown) : page(found(kind)));
    });
}

function found(kind: string): Definition {
  const definition = kindNamed(kind);
  if (definition !== undefined) return definition;
  const names = KINDS.map((each) => each.kind);
  const near = kindMeant(kind, KINDS) ?? nearest(kind, names);
  throw wrongRequest(
    `There is no kind "${kind}". ${near === undefined ? '' : `Did you mean ${near}? `}The kinds are ${someOf(kind, names, '"forehear kinds" lists all')}.`,
  );
}

function list(kinds: readonly Definition[]): string {
  const rows = kinds.map(({ kind, about }) => [kind, firstSentence(about)]);
  return `${table(rows)}\n\nforehear kinds KIND shows one with its settings and jacks.`;
}

function page(definition: Definition): string {
  const { kind, about, settings } = definition;
  const jacks = jacksOf(definition);
  const sections = [kind, '', wrapped(about)];
  const rows = Object.entries(settings).map(([name, spec]) => [
    name,
    fallbackText(spec),
    rangeText(spec),
    spec.about,
  ]);
  if (rows.length > 0)
    sections.push(
      '',
      'Settings',
      table([['name', 'unless set', 'range', 'what it is'], ...rows], 2),
    );
  sections.push(
    '',
    'Jacks',
    table(
      [
        ['name', 'way', 'carries', 'electrically', 'what it is'],
        ...jacks.map((jack) => [
          jack.name,
          jack.direction,
          jack.direction === 'through' ? 'anything' : jack.signal,
          electrical(jack),
          jack.about,
        ]),
      ],
      2,
    ),
  );
  for (const line of limitLines(definition)) sections.push(line);
  sections.push(
    '',
    'Example',
    definition.example
      .trimEnd()
      .split('\n')
      .map((line) => `  ${line}`.trimEnd())
      .join('\n'),
  );
  return sections.join('\n');
}

function limitLines({ limits = [] }: Definition): readonly string[] {
  if (limits.length === 0) return [];
  return ['', 'Limits', ...limits.map((limit) => table([['-', limit]], 2))];
}

function firstSentence(text: string): string {
  return /^.*?[.:](?=\s|$)/s.exec(text)?.[0].replace(/:$/, '.') ?? text;
}

function fallbackText(spec: SettingSpec): string {
  if (spec.type === 'row') return formatRow(spec.fallback, spec);
  if (spec.type === 'rows') return formatRows(spec.fallback, spec);
  if (spec.type === 'recording') return 'must be given';
  if (!isPlain(spec)) return '';
  return typeof spec.fallback === 'number' && 'min' in spec
    ? formatBriefly(spec.fallback, spec.type)
    : formatValue(spec.fallback, spec.type);
}

function isPlain(spec: SettingSpec): spec is PlainSpec {
  return (
    'fallback' in spec && spec.type !== 'row' && spec.type !== 'rows' && spec.type !== 'recording'
  );
}

function rangeText(spec: SettingSpec): string {
  if (spec.type === 'row') return expectedRow(spec);
  if (spec.type === 'rows') return expectedRows(spec);
  if (spec.type === 'recording') return RECORDING_RULE;
  if (!isPlain(spec)) return 'see patches/README.md';
  if (spec.type === 'choice') return spec.options.join(', ');
  if ('min' in spec)
    return `${formatBriefly(spec.min, spec.type)} to ${formatBriefly(spec.max, spec.type)}`;
  return expectedOf(spec);
}

/** The jacks of a kind with every setting at its default, with one channel or row as an example of any. */
function jacksOf(definition: Definition): readonly Jack[] {
  const fallbacks = Object.entries(definition.settings).map(([name, spec]) => {
    if (spec.type === 'rows')
      return [name, [{ name: 'ROW', values: [spec.row.min, spec.row.max] }]];
    if ('fallback' in spec) return [name, spec.fallback];
    return [name, spec.type === 'channels' ? [{ name: 'CHANNEL' }] : []];
  });
  return definition.jacks(Object.fromEntries(fallbacks));
}

function asData(definition: Definition): object {
  const { kind, about, settings, limits = [], example } = definition;
  return {
    kind,
    about,
    settings,
    jacks: jacksOf(definition),
    limits,
    example,
  };
}
