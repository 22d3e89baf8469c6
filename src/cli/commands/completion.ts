/** `forehear completion`: the script that makes a shell complete commands, options, files and choices. */

import { Argument, type Command } from 'commander';
import { bashScript } from '../completion/bash.ts';
import { fishScript } from '../completion/fish.ts';
import { programWords } from '../completion/words.ts';
import { zshScript } from '../completion/zsh.ts';
import { jsonOption } from '../options.ts';
import { sayExactly, sayJson } from '../standard-output.ts';

const SHELLS = { bash: bashScript, zsh: zshScript, fish: fishScript } as const;
type Shell = keyof typeof SHELLS;

/** @param program that has all commands registered by the time this one runs. */
export function register(program: Command): void {
  program
    .command('completion')
    .addArgument(new Argument('<shell>', 'which shell').choices(Object.keys(SHELLS)))
    .summary('print the script that makes a shell complete words')
    .description(
      'Print a script that makes the Tab key complete commands, options, files and choices in a shell.',
    )
    .addOption(jsonOption())
    .addHelpText('after', EXAMPLES)
    .action((shell: Shell, { json }: { json?: true }) => {
      const script = SHELLS[shell](program.name(), programWords(program));
      if (json) sayJson({ shell, script });
      else sayExactly(script);
    });
}

const EXAMPLES = `
Examples:
  source <(forehear completion bash)              in ~/.bashrc
  source <(forehear completion zsh)               in ~/.zshrc, after compinit
  forehear completion fish | source               in ~/.config/fish/config.fish`;
