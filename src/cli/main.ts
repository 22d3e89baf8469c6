/** The `forehear` command: finds the command asked for, runs it, and turns its end into an exit code. */

import { Command, CommanderError } from 'commander';
import { OutputError } from '../files/output-error.ts';
import { COMMANDS } from './commands.ts';
import { EXIT, Stop } from './exit.ts';
import { removeUnfinishedAtEnd } from './interrupt.ts';
import { endWithOutput } from './standard-output.ts';
import { VERSION } from './version.ts';

endWithOutput();
removeUnfinishedAtEnd();

/** Runs a command. @returns its name once it has run to its end; undefined for help and errors. */
async function main(args: readonly string[]): Promise<string | undefined> {
  const program = new Command('forehear')
    .description('Hear a drum patch before any cable goes in.')
    .version(VERSION, '--version', 'print the version')
    .helpOption('-h, --help', 'print help')
    .helpCommand('help [command]', 'print help for a command')
    .showHelpAfterError(
      'Run "forehear --help", or "forehear COMMAND --help", for what is possible.',
    )
    .exitOverride()
    .configureOutput({ outputError: (text, write) => write(text) })
    .addHelpText('after', FIRST_STEPS);

  const name = args[0] === 'help' ? args[1] : args[0];
  const known = name !== undefined && Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
  const wanted = known === undefined ? Object.values(COMMANDS) : [known];
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
    process.exitCode = codeOf(error);
    return undefined;
  }
}

/** Tells of an error. @returns the exit code for it. */
function codeOf(error: unknown): number {
  // Commander has printed its own message, or the help that was asked for.
  if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.done : EXIT.request;
  if (error instanceof Stop) {
    console.error(error.message);
    return error.code;
  }
  if (error instanceof OutputError) {
    console.error(error.message);
    return error.byPath ? EXIT.request : EXIT.machine;
  }
  const message = error instanceof Error ? error.message : String(error);
  console.error(
    `Forehear failed: ${message}\nThis is a mistake in Forehear, not in your patch. Please report it with the patch and the command.`,
  );
  if (process.env.FOREHEAR_TRACE !== undefined && error instanceof Error)
    console.error(error.stack);
  return EXIT.machine;
}

const FIRST_STEPS = `
First steps:
  forehear new my-hat               write a starter patch, my-hat.yaml
  forehear render my-hat.yaml       hear it: renders/my-hat.wav
  forehear kinds envelope           what an envelope's jacks and settings are

Start with the volume low: noise, clicks and resonances can hurt ears and speakers.`;

/** What start.ts waits for. */
export const ended = main(process.argv.slice(2));
