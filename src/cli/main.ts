/** The `forehear` command: finds the command asked for, runs it, and turns its end into an exit code. */

import { Command, CommanderError } from 'commander';
import { COMMANDS } from './commands.ts';
import { EXIT } from './exit.ts';
import { removeUnfinishedAtEnd } from './interrupt.ts';
import { VERSION } from './options.ts';
import { reportError } from './report-error.ts';
import { endWithOutput } from './standard-output.ts';
import { usageStop } from './usage.ts';

endWithOutput();
removeUnfinishedAtEnd();

/** Runs a command. @returns its name once it has run to its end; undefined for help and errors. */
async function main(args: readonly string[]): Promise<string | undefined> {
  const program = new Command('forehear')
    .description('Hear a drum patch before any cable goes in.')
    .version(VERSION, VERSION_FLAG, 'print the version')
    .helpOption('-h, --help', 'print help')
    .helpCommand('help [command]', 'print help for a command')
    .exitOverride()
    .configureOutput({ outputError: () => {} })
    .addHelpText('after', FIRST_STEPS);

  const name = args[0] === 'help' ? args[1] : args[0];
  const known = name !== undefined && Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
  const all = name === VERSION_FLAG ? [] : Object.values(COMMANDS);
  const wanted = known === undefined || name === ABOUT_ALL ? all : [known];
  try {
    for (const load of wanted) (await load()).register(program);
    if (args.length === 0) {
      program.outputHelp();
      process.exitCode = EXIT.request;
      return undefined;
    }
    await program.parseAsync(args, { from: 'user' });
    return name;
  } catch (error) {
    const isUsage = error instanceof CommanderError && error.exitCode !== 0;
    const command = program.commands.find((one) => one.name() === name);
    process.exitCode = reportError(
      isUsage ? usageStop(error, command, Object.keys(COMMANDS)) : error,
      wantsJson(args),
    );
    return undefined;
  }
}

/** Whether errors are printed as data, even those in the words of the command line. */
function wantsJson(args: readonly string[]): boolean {
  const end = args.indexOf('--');
  return args.slice(0, end < 0 ? undefined : end).includes('--json');
}

/** As the first word, it needs no command. */
const VERSION_FLAG = '--version';

/** The command that needs the definitions of all others. */
const ABOUT_ALL = 'completion';

const FIRST_STEPS = `
First steps:
  forehear new my-hat               write a starter patch, my-hat.yaml
  forehear render my-hat.yaml       hear it: renders/my-hat.wav
  forehear kinds envelope           what an envelope's jacks and settings are

Values of options have their unit as in a patch, or none: --rate 44.1kHz or 44100, --seconds 500ms or
0.5, --tolerance 5% or 5, --tempo 92bpm or 92, --full-scale 10V or 10.

Start with the volume low: noise, clicks and resonances can hurt ears and speakers.`;

/** What start.ts waits for. */
export const ended = main(process.argv.slice(2));
