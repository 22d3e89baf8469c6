/** What the words on the command line are read with, the same way in every command. */

import { InvalidArgumentError } from 'commander';
import type { Length } from '../engine/take.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import { nearest } from '../patch/text/nearest.ts';
import { wrongRequest } from './exit.ts';

export const SET_HELP = 'change a setting for this run, such as shape.decay=80ms (repeatable)';

export const RACK_HELP = 'what you own, in place of the rack that the patch names';

/** Reads a tolerance: `5%`, `5 %` or `0.5 %`, as a share. */
export function toleranceArgument(text: string): number {
  const match = /^(\d+(?:\.\d+)?|\.\d+) ?%?$/.exec(text);
  const value = Number(match?.[1] ?? Number.NaN) / 100;
  if (!(value >= 0 && value <= 0.5))
    throw new InvalidArgumentError('A percentage from 0 % to 50 % was expected, such as 5 %.');
  return value;
}

/** Collects an option that may be given several times. */
export function gathered(value: string, before: readonly string[]): string[] {
  return [...before, value];
}

/** Reads a whole number between two others. */
export function wholeArgument(min: number, max: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (!/^\d+$/.test(text) || value < min || value > max)
      throw new InvalidArgumentError(`A whole number from ${min} to ${max} was expected.`);
    return value;
  };
}

/** The longest clip that can be asked for, s: a day. */
const LONGEST = 86_400;

/** Reads a time in seconds: `4`, `2.5`, `4s` or `4 s`. */
export function secondsArgument(text: string): number {
  const match = /^(\d+(?:\.\d+)?|\.\d+) ?s?$/.exec(text);
  const value = Number(match?.[1] ?? Number.NaN);
  if (!(value >= 0 && value <= LONGEST))
    throw new InvalidArgumentError(
      `A time in seconds from 0 to ${LONGEST} was expected, such as 4 or 2.5.`,
    );
  return value;
}

/**
 * Finds the jack that a word names.
 * @throws Stop with the nearest names if the patch has no such module or jack.
 */
export function jackArgument(text: string, patch: Patch, option: string): JackRef {
  const dot = text.lastIndexOf('.');
  const ref = { module: text.slice(0, Math.max(0, dot)), jack: text.slice(dot + 1) };
  const module = patch.modules.find(({ name }) => name === ref.module);
  if (module?.jacks.some(({ name }) => name === ref.jack)) return ref;
  const all = patch.modules.flatMap(({ name, jacks }) =>
    jacks.map((jack) => `${name}.${jack.name}`),
  );
  const near = nearest(text, all);
  const hint =
    near !== undefined
      ? ` Did you mean ${near}?`
      : module !== undefined
        ? ` ${module.name} has ${module.jacks.map(({ name }) => name).join(', ')}.`
        : ` The modules are ${patch.modules.map(({ name }) => name).join(', ')}.`;
  throw wrongRequest(`${option} ${text}: the patch has no such jack.${hint}`);
}

/** Reads volts above 0: `10`, `10V` or `5.1 V`. */
export function voltsArgument(text: string): number {
  const match = /^(\d+(?:\.\d+)?|\.\d+) ?V?$/.exec(text);
  const value = Number(match?.[1] ?? Number.NaN);
  if (!(value > 0 && value <= 100))
    throw new InvalidArgumentError('Volts above 0 V and up to 100 V were expected, such as 10V.');
  return value;
}

/** Reads a factor between two others. */
export function factorArgument(min: number, max: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === '' || !(value >= min && value <= max))
      throw new InvalidArgumentError(`A factor from ${min} to ${max} was expected, such as 1.02.`);
    return value;
  };
}

/** How much is played: `--bars`, `--seconds`, or the song once. */
export function lengthAsked({
  bars,
  seconds,
}: {
  readonly bars?: number;
  readonly seconds?: number;
}): Length {
  if (bars !== undefined) return { unit: 'bars', value: bars };
  return seconds === undefined ? { unit: 'song' } : { unit: 'seconds', value: seconds };
}
