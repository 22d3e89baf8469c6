/** Completion for zsh, by its own `_arguments`. */

import type { CommandWords, OptionWords, WordValues } from './words.ts';

/** Writes the script, to be put into a folder of `fpath` or read by `source`. */
export function zshScript(program: string, commands: readonly CommandWords[]): string {
  const described = commands.map(({ name, about }) => `    ${quoted(`${name}:${about}`)}`);
  return `#compdef ${program}
# Completion of ${program} for zsh: source <(${program} completion zsh)
_${program}() {
  local context state state_descr line
  typeset -A opt_args
  local -a commands
  commands=(
${described.join('\n')}
  )
  _arguments -C '1: :->command' '*:: :->rest' '(- *)--help[print help]' '(- *)--version[print the version]'
  case $state in
    command) _describe -t commands command commands ;;
    rest)
      case $words[1] in
${commands.map(caseOf).join('\n')}
      esac
      ;;
  esac
}
if [ "$funcstack[1]" = "_${program}" ]; then
  _${program} "$@"
else
  compdef _${program} ${program}
fi
`;
}

function caseOf(command: CommandWords): string {
  const last = command.arguments.length - 1;
  const specs = [
    ...command.options.flatMap(optionSpecs),
    ...command.arguments.map(
      ({ name, values }, index) =>
        `${command.isVariadic && index === last ? '*' : index + 1}:${escaped(name)}:${action(values)}`,
    ),
  ];
  return `        ${command.name}) _arguments -s \\
${specs.map((spec) => `          ${quoted(spec)}`).join(' \\\n')} ;;`;
}

function optionSpecs({
  long,
  short,
  about,
  values,
  isOptional,
  isRepeatable,
}: OptionWords): string[] {
  const rest = values === undefined ? '' : `${isOptional ? '::' : ':'}value:${action(values)}`;
  const names = short === undefined ? [long] : [short, long];
  const excluded = isRepeatable ? '*' : names.length > 1 ? `(${names.join(' ')})` : '';
  return names.map((name) => `${excluded}${name}[${escaped(about)}]${rest}`);
}

function action(values: WordValues): string {
  switch (values.type) {
    case 'choice':
      return `(${values.words.join(' ')})`;
    case 'file':
      return '_files';
    case 'folder':
      return '_files -/';
    case 'free':
      return ' ';
  }
}

/** Brackets end a description, and colons a part of a spec. */
function escaped(text: string): string {
  return text.replace(/[[\]:\\]/g, (sign) => `\\${sign}`);
}

function quoted(text: string): string {
  return `'${text.replaceAll("'", "'\\''")}'`;
}
