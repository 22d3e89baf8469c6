/** Words on the command line that a command does not take: what is wrong with them, as our own messages. */

import type { Command, CommanderError } from 'commander';
import { someOf } from '../patch/text/nearest.ts';
import { EXIT, Stop } from './exit.ts';

/**
 * Turns an error of the argument parser into a message of our own.
 * @param command the command that was asked for; undefined if no command has that name.
 * @param names of all commands.
 */
export function usageStop(
  error: CommanderError,
  command: Command | undefined,
  names: readonly string[],
): Stop {
  const [first = '', nearest] = error.message
    .replace(/^error: /, '')
    .split(/\n\(Did you mean (?:one of )?(.*)\?\)$/s);
  const { message, expected } = worded(error.code, first, command, names);
  const advice = nearest !== undefined ? `did you mean ${nearest}?` : expected;
  const text = advice === undefined ? message : `${message}: ${advice}`;
  return new Stop(EXIT.request, ended(text), [{ code: 'usage', message, expected, nearest }]);
}

interface Worded {
  readonly message: string;
  readonly expected?: string | undefined;
}

function worded(
  code: string,
  message: string,
  command: Command | undefined,
  names: readonly string[],
): Worded {
  const [option] = /(?<=option ').*?(?=')/.exec(message) ?? [];
  switch (code) {
    case 'commander.invalidArgument': {
      const [subject = '', ...rest] = message.split(' is invalid. ');
      const expected = rest.join(' is invalid. ');
      const [, flags, value] = /^option '(.*?)' argument '(.*)'$/s.exec(subject) ?? [];
      if (flags !== undefined)
        return { message: `${longOf(flags)} ${value}`, expected: lowered(expected) };
      const [, given, name, why = ''] =
        /^command-argument value '(.*)' is invalid for argument '(.*?)'\. (.*)$/s.exec(message) ??
        [];
      return { message: `${name} ${given}`, expected: lowered(why) };
    }
    case 'commander.optionMissingArgument': {
      const about = command?.options.find(({ flags }) => flags === option)?.description;
      return { message: `${option} needs its value`, expected: about };
    }
    case 'commander.missingMandatoryOptionValue':
      return { message: `${longOf(option ?? '')} is needed`, expected: aboutOf(command, option) };
    case 'commander.unknownOption': {
      const all = command?.options.flatMap(({ long }) => long ?? []) ?? ['--help', '--version'];
      const help = `"forehear ${command?.name() ?? ''} --help" lists all`.replace('  ', ' ');
      return { message, expected: `expected ${someOf(option ?? '', all, help)}` };
    }
    case 'commander.unknownCommand':
      return { message, expected: `expected ${names.join(', ')}` };
    case 'commander.missingArgument':
    case 'commander.excessArguments':
      return {
        message: message.replace(/\.( .*)?$/, ''),
        expected:
          command === undefined ? undefined : `forehear ${command.name()} ${command.usage()}`,
      };
    default:
      return { message };
  }
}

function aboutOf(command: Command | undefined, flags: string | undefined): string | undefined {
  return command?.options.find((option) => option.flags === flags)?.description;
}

/** `--rate` of `--rate <hertz>`. */
function longOf(flags: string): string {
  return /--[a-z-]+/.exec(flags)?.[0] ?? flags;
}

function lowered(sentence: string): string {
  return /^[A-Z][a-z ]/.test(sentence)
    ? `${sentence.charAt(0).toLowerCase()}${sentence.slice(1)}`
    : sentence;
}

function ended(text: string): string {
  return /[.?!]$/.test(text) ? text : `${text}.`;
}
