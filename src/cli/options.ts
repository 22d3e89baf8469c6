/** The options that commands share, and the functions that read their values, the same way in every command. */

import { InvalidArgumentError, Option } from 'commander';
import { USUAL_RATE } from '../engine/usual-rate.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import { nearest, someOf } from '../patch/text/nearest.ts';
import type { Length } from '../timing/length.ts';
import type { Depth } from '../wav/wav-pack.ts';
import { EXIT, Stop } from './exit.ts';

const DEPTHS: readonly Depth[] = ['16', '24', '32f'];

/** Where a command's patch comes from. */
export const PATCH_HELP = 'patch file, or - for standard input';

/** `--rack` and `--set`: on which rack a patch is played, and which settings are changed. */
export function rackOption(): Option {
  return new Option('--rack <file>', 'what you own, in place of the rack that the patch names');
}

export function setOption(): Option {
  return new Option(
    '--set <setting=value>',
    'change a setting for this run, such as shape.decay=80ms, or what is plugged into an input, ' +
      'such as bright.in=hiss.pink (repeatable)',
  )
    .argParser(gathered)
    .default([], 'none');
}

export function jsonOption(more = ''): Option {
  return new Option('--json', `print one JSON object, errors too${more}`);
}

export function quietOption(but = 'errors'): Option {
  return new Option('--quiet', `print nothing but ${but}`);
}

export function rateOption(): Option {
  return new Option('--rate <hertz>', 'sample rate, 8000 to 192000')
    .argParser(wholeArgument(8000, 192_000))
    .default(USUAL_RATE);
}

export function depthOption(): Option {
  return new Option('--depth <bits>', 'bits of a sample').choices(DEPTHS).default('24');
}

export function toleranceOption(about: string): Option {
  return new Option('--tolerance <percent>', about).argParser(toleranceArgument).default(0);
}

/** `--bars`, which excludes `--seconds`. */
export function barsOption(
  about = 'play this many bars, the song repeating as needed',
  most = 1_000_000,
): Option {
  return new Option('--bars <count>', about).argParser(wholeArgument(1, most)).conflicts('seconds');
}

export function secondsOption(
  about = 'play this long, such as 4s or 2min, the song repeating as needed',
  most = LONGEST,
): Option {
  return new Option('--seconds <time>', about).argParser(timeArgument(most, SHORTEST));
}

/** Reads a tolerance: `5%`, `5 %` or `0.5 %`, as a share. */
function toleranceArgument(text: string): number {
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
/** The shortest, s: a shorter clip has nothing to hear, and would overwrite one that has. */
const SHORTEST = 0.001;

/** Seconds in a unit, as the number to multiply with and the one to divide by. */
const TIMES: { readonly [unit: string]: readonly [multiply: number, divide: number] } = {
  '': [1, 1],
  us: [1, 1e6],
  '\u00B5s': [1, 1e6],
  '\u03BCs': [1, 1e6],
  ms: [1, 1e3],
  s: [1, 1],
  min: [60, 1],
  h: [3600, 1],
};

/**
 * Reads a time: `500ms`, `1.5 s`, `2min`, or seconds alone, `4`.
 * @param most s. @param least s.
 * @returns what reads it, giving s.
 */
export function timeArgument(most = LONGEST, least = 0): (text: string) => number {
  return (text) => {
    const [, number, unit = ''] = /^(\d+(?:\.\d*)?|\.\d+)\s*(\D*)$/.exec(text.trim()) ?? [];
    const [multiply, divide] = (Object.hasOwn(TIMES, unit) && TIMES[unit]) || [Number.NaN, 1];
    const value = (Number(number) * multiply) / divide;
    if (!(value >= least && value <= most))
      throw new InvalidArgumentError(
        `A time from ${least} s to ${most} s was expected, such as 500ms, 1.5s or 2min.`,
      );
    return value;
  };
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
  // The module may be given without a jack, or with a jack that it does not have.
  const meant = module ?? patch.modules.find(({ name }) => name === text);
  const has =
    meant === undefined
      ? undefined
      : `the jacks of ${meant.name} are ${someOf(
          ref.jack,
          meant.jacks.map(({ name }) => name),
          `"forehear kinds ${meant.definition.kind}" says what they are`,
        )}`;
  const names = `the modules are ${someOf(
    ref.module || text,
    patch.modules.map(({ name }) => name),
    '"forehear volts" prints what is plugged where',
  )}`;
  const expected = has ?? (near === undefined ? names : undefined);
  const message =
    meant?.name === text
      ? `${option} ${text}: this names a module, and a jack of it is needed`
      : `${option} ${text}: the patch has no such jack`;
  const asked = near === undefined || meant?.name === text ? undefined : near;
  const hint = asked === undefined ? '' : ` Did you mean ${asked}?`;
  const rest = expected === undefined ? '' : ` ${expected[0]?.toUpperCase()}${expected.slice(1)}.`;
  throw new Stop(EXIT.request, `${message}.${hint}${rest}`, [
    { code: 'unknown-jack', message, expected, nearest: asked },
  ]);
}

export const TEMPO_RANGE = 'a tempo from 1 bpm to 999 bpm';

export function isTempo(bpm: number): boolean {
  return bpm >= 1 && bpm <= 999;
}

/** Reads quarter notes a minute: `92` or `92.5 bpm`. */
export function tempoArgument(text: string): number {
  const match = /^(\d+(?:\.\d+)?|\.\d+) ?(?:bpm)?$/.exec(text);
  const value = Number(match?.[1] ?? Number.NaN);
  if (!isTempo(value))
    throw new InvalidArgumentError(`A${TEMPO_RANGE.slice(1)} was expected, such as 92.`);
  return value;
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

/** The version in package.json; a test keeps the two the same. */
export const VERSION = '0.1.0';
