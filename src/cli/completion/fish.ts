/** Completion for fish: a line for each command and each option. */

import type { CommandWords, OptionWords, WordValues } from './words.ts';

/** Writes the script, to be read by `source`. */
export function fishScript(program: string, commands: readonly CommandWords[]): string {
  const first = commands.map(
    ({ name, about }) =>
      `complete -c ${program} -n __fish_use_subcommand -f -a ${name} -d ${quoted(about)}`,
  );
  const rest = commands.flatMap((command) => {
    const when = `complete -c ${program} -n ${quoted(`__fish_seen_subcommand_from ${command.name}`)}`;
    return [
      ...command.options.map((option) => `${when} ${optionWords(option)}`),
      ...argumentsOf(command).map((words) => `${when} ${words}`),
    ];
  });
  return `# Completion of ${program} for fish: ${program} completion fish | source
complete -c ${program} -f
complete -c ${program} -n __fish_use_subcommand -l help -d 'print help'
complete -c ${program} -n __fish_use_subcommand -l version -d 'print the version'
${[...first, ...rest].join('\n')}
`;
}

function optionWords({ long, short, about, values, isOptional }: OptionWords): string {
  const names = [...(short === undefined ? [] : [`-s ${short.slice(1)}`]), `-l ${long.slice(2)}`];
  const value = values === undefined ? [] : [isOptional ? '' : '-r', valueWords(values)];
  return [...names, ...value, `-d ${quoted(about)}`].filter((word) => word !== '').join(' ');
}

/** The arguments of a command are not told apart by their place: fish offers all that could be meant. */
function argumentsOf(command: CommandWords): readonly string[] {
  return [...new Set(command.arguments.map(({ values }) => valueWords(values)))].filter(
    (words) => words !== '-f',
  );
}

function valueWords(values: WordValues): string {
  switch (values.type) {
    case 'choice':
      return `-f -a ${quoted(values.words.join(' '))}`;
    case 'file':
      return '-F';
    case 'folder':
      return `-f -a ${quoted('(__fish_complete_directories)')}`;
    case 'free':
      return '-f';
  }
}

function quoted(text: string): string {
  return `'${text.replace(/['\\]/g, (sign) => `\\${sign}`)}'`;
}
