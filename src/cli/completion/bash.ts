/** Completion for bash: one function, for version 4 and later. */

import type { CommandWords, WordValues } from './words.ts';

/** Writes the script, to be read by `source`. */
export function bashScript(program: string, commands: readonly CommandWords[]): string {
  const names = commands.map(({ name }) => name).join(' ');
  return `# Completion of ${program} for bash: source <(${program} completion bash)
_${program}() {
  local word=\${COMP_WORDS[COMP_CWORD]} before=\${COMP_WORDS[COMP_CWORD-1]} command=\${COMP_WORDS[1]}
  local IFS=$'\\n'
  COMPREPLY=()
  if [ "$COMP_CWORD" -eq 1 ]; then
    _${program}_words "$word" ${names} --help --version
    return
  fi
  local at count=0 skip=
  case $command in
${commands.map((command) => caseOf(program, command)).join('\n')}
  esac
}
_${program}_words() {
  local word=$1 IFS=$'\\n'
  shift
  COMPREPLY=($(compgen -W "$*" -- "$word"))
}
_${program}_files() {
  local IFS=$'\\n'
  compopt -o filenames 2>/dev/null
  COMPREPLY=($(compgen "$1" -- "$2"))
}
complete -F _${program} ${program}
`;
}

function caseOf(program: string, { name, options, ...rest }: CommandWords): string {
  const valued = options.filter(({ values }) => values !== undefined);
  const flags = (list: readonly { long: string; short: string | undefined }[]): string =>
    list.flatMap(({ long, short }) => (short === undefined ? [long] : [short, long])).join('|');
  const values = valued.map(
    (option) =>
      `        ${flags([option])}) ${reply(program, option.values as WordValues)}${option.isOptional ? '' : '; return'} ;;`,
  );
  const sure = valued.filter(({ isOptional }) => !isOptional);
  const count =
    sure.length === 0
      ? ''
      : `
        ${flags(sure)}) skip=1; continue ;;`;
  const last = rest.arguments.length - 1;
  const positions = rest.arguments.map(
    (argument, index) =>
      `        ${index === last && rest.isVariadic ? '*' : index}) ${reply(program, argument.values)} ;;`,
  );
  const all = options.map(({ long }) => long).join(' ');
  return `    ${name})
      case $before in
${[...values, '        *) ;;'].join('\n')}
      esac
      [ \${#COMPREPLY[@]} -gt 0 ] && return
      if [[ $word == -* ]]; then
        _${program}_words "$word" ${all}
        return
      fi
      for ((at = 2; at < COMP_CWORD; at++)); do
        if [ -n "$skip" ]; then skip=; continue; fi
        case \${COMP_WORDS[at]} in${count}
        =) skip=1 ;; # Bash takes what stands before and after it for words of their own.
        -?*) ;;
        *) count=$((count + 1)) ;;
        esac
      done
      case $count in
${[...positions, '        *) ;;'].slice(0, rest.isVariadic ? positions.length : undefined).join('\n')}
      esac
      ;;`;
}

function reply(program: string, values: WordValues): string {
  switch (values.type) {
    case 'choice':
      return `_${program}_words "$word" ${values.words.join(' ')}`;
    case 'file':
      return `_${program}_files -f "$word"`;
    case 'folder':
      return `_${program}_files -d "$word"`;
    case 'free':
      return ':';
  }
}
