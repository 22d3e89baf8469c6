/** The options that commands share, and the functions that read their values, the same way in every command. */

import { InvalidArgumentError, Option } from 'commander';
import { USUAL_RATE } from '../engine/usual-rate.ts';
import type { NumberSpec } from '../modules/definition.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import { nearest, someOf } from '../patch/text/nearest.ts';
import { expectedNumber, parseValue, unitsOf } from '../patch/units.ts';
import type { Length } from '../timing/length.ts';
import type { Depth } from '../wav/wav-pack.ts';
import { EXIT, Stop } from './exit.ts';

const DEPTHS: readonly Depth[] = ['16', '24', '32f'];

/** Where a command's patch comes from. */
export const PATCH_HELP = 'patch file, or - for standard input';

/** `--rack` and `--set`: on which rack a patch is played, and which settings are changed. */
export function rackOption(): Option {
  return new Option(
    '--rack <file>',
    'what you own, in place of the rack that the patch names; none is no rack',
  );
}

export function setOption(): Option {
  return repeatableOption(
    '--set <setting=value>',
    'change a setting for this run, such as shape.decay=80ms, or what is plugged into an input, ' +
      'such as bright.in=hiss.pink',
  );
}

export function jsonOption(more = ''): Option {
  return new Option('--json', `print one JSON object, errors too${more}`);
}

export function quietOption(but = 'errors'): Option {
  return new Option('--quiet', `print nothing but ${but}`);
}

export function rateOption(): Option {
  return new Option('--rate <hertz>', 'sample rate, such as 44.1kHz or 44100')
    .argParser(sampleRateArgument)
    .default(USUAL_RATE);
}

export function depthOption(): Option {
  return new Option('--depth <bits>', 'bits of a sample').choices(DEPTHS).default('24');
}

export function toleranceOption(about: string): Option {
  const spec = { type: 'percent', min: 0, max: 0.5, fallback: 0.05, about: '' } as const;
  return new Option('--tolerance <percent>', about).argParser(quantityArgument(spec)).default(0);
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

/**
 * An option that may be given several times: its values come as a list.
 * @param usual what the help says of it where it is not given.
 */
export function repeatableOption(flags: string, about: string, usual = 'none'): Option {
  return new Option(flags, `${about} (repeatable)`)
    .argParser((value: string, before: readonly string[]) => [...before, value])
    .default([], usual);
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

/**
 * Reads a quantity as a patch writes it, `44.1 kHz` or `44.1kHz`; its unit, all but the prefix, may be left
 * out: `44100`, `44.1k`.
 * @param spec its quantity, its range and an example, the fallback.
 */
export function quantityArgument(spec: NumberSpec): (text: string) => number {
  const [unit = ''] = unitsOf(spec.type);
  return (text) => {
    for (const words of [text, `${text}${unit}`]) {
      const reading = parseValue(words, spec, '');
      if (!reading.fault) return reading.value;
    }
    const expected = expectedNumber(spec);
    throw new InvalidArgumentError(
      `${expected[0]?.toUpperCase()}${expected.slice(1)}, was expected.`,
    );
  };
}

/**
 * Reads a time, in minutes and hours too: `500ms`, `1.5 s`, `2min`, or seconds alone, `4`.
 * @param most s. @param least s.
 * @returns what reads it, giving s.
 */
export function timeArgument(most = LONGEST, least = 0): (text: string) => number {
  const read = quantityArgument({ type: 'time', min: least, max: most, fallback: 1.5, about: '' });
  return (text) => {
    const [, number, unit] = /^\s*([\d.]+)\s*(min|h)\s*$/.exec(text) ?? [];
    return read(unit === undefined ? text : `${Number(number) * (unit === 'h' ? 3600 : 60)} s`);
  };
}

/** Reads a sample rate, in whole hertz. */
function sampleRateArgument(text: string): number {
  const rate = quantityArgument({
    type: 'frequency',
    min: 8000,
    max: 192_000,
    fallback: USUAL_RATE,
    about: '',
  })(text);
  const whole = Math.round(rate);
  // 1e3 times a decimal number may be a bit beside a whole one.
  if (Math.abs(rate - whole) > 1e-6)
    throw new InvalidArgumentError('A whole number of hertz was expected, such as 44100.');
  return whole;
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
export const tempoArgument = quantityArgument({
  type: 'tempo',
  min: 1,
  max: 999,
  fallback: 92,
  about: '',
});

/** Reads the volts of full scale: `10`, `10V` or `5.1 V`. */
export const voltsArgument = quantityArgument({
  type: 'voltage',
  min: 0.001,
  max: 100,
  fallback: 10,
  about: '',
});

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
