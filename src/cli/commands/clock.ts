/** `forehear clock`: the arithmetic of tempo, without a patch. */

import { type Command, InvalidArgumentError } from 'commander';
import type { Rate } from '../../modules/definition.ts';
import { parseSetting } from '../../patch/settings.ts';
import { percent } from '../../tab/fragment.ts';
import {
  clockPeriod,
  noteOfRate,
  quartersOfNote,
  ratioOfNote,
  secondsPerQuarter,
  stepSeconds,
  swingDelay,
} from '../../timing/notes.ts';
import { jsonOption, quantityArgument, tempoArgument, wholeArgument } from '../options.ts';
import { say, sayJson } from '../standard-output.ts';
import { table } from '../table.ts';
import { described, tap } from '../tap.ts';

interface Options {
  tempo?: number;
  want?: string;
  clock?: Rate;
  steps: number;
  swing?: number;
  tap?: true;
  json?: true;
}

const NOTES = ['1/1', '1/2', '1/4', '1/8', '1/16', '1/32'] as const;
const MARKS = ['', '.', 'T'] as const;
/** Shares of the pair; 2/3 is triplet swing. */
const SWINGS = [0.5, 0.54, 0.58, 0.62, 2 / 3, 0.7, 0.75] as const;
const SWING = { type: 'percent', min: 0.5, max: 0.75, fallback: 0.58, about: '' } as const;
const USUAL_TEMPO = 120;
/** Time constants in a decay of an envelope, and in a fall of 60 dB: ln 1000. */
const DECAY_CONSTANTS = 5;
const FALL_60_DB = 6.907755278982137;

export function register(program: Command): void {
  program
    .command('clock')
    .summary('tempo arithmetic: notes, clocks, swing, delay and envelope times')
    .description(
      'Say what a tempo means in notes, milliseconds and hertz, which clock or divider gives a wanted ' +
        'note, and how late swung steps come. No patch is needed.',
    )
    .option('--tempo <bpm>', `quarter notes a minute (unless set: ${USUAL_TEMPO})`, tempoArgument)
    .option(
      '--want <note>',
      'a note that something is to run in, such as 1/8, 1/8. or 1/16T',
      noteArgument,
    )
    .option(
      '--clock <rate>',
      'the clock that you have, such as "2 per quarter" or "1 per step"',
      rateArgument,
    )
    .option(
      '--steps <count>',
      'steps in a quarter note, for clocks per step and swing',
      wholeArgument(1, 96),
      4,
    )
    .option(
      '--swing <percent>',
      'where the off-step comes in its pair, such as 58%',
      quantityArgument(SWING),
    )
    .option('--tap', 'press a key in time; at a pipe, a line a tap: empty, or its time')
    .addOption(jsonOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(options: Options): Promise<void> {
  const tapped = options.tap ? await tap() : undefined;
  const tempo = tapped?.tempo ?? options.tempo ?? USUAL_TEMPO;
  if (options.json) {
    const rows = [
      ...(options.clock ? [rowOf(tempo, perQuarter(options.clock, options.steps))] : []),
      ...wanted(options).map((note) => noteRow(tempo, note)),
    ];
    const taps = tapped && { taps: tapped.taps, spreadSeconds: tapped.spread };
    const swing = options.swing;
    const late = swing && { swingSeconds: swingDelay(swing, stepSeconds(tempo, options.steps)) };
    const divide = options.clock &&
      options.want && {
        divider: dividerOf(options.want, perQuarter(options.clock, options.steps)),
      };
    sayJson({ tempo, ...taps, ...late, ...divide, rows });
    return;
  }
  const lines = [
    ...(tapped ? [`Tapped: ${described(tapped)}.`] : []),
    headOf(tempo),
    ...(options.clock ? [clockLine(tempo, options.clock, options.steps)] : []),
    ...(options.want ? wantLines(tempo, options.want, options) : []),
  ];
  if (options.swing !== undefined) lines.push(swingLine(tempo, options.swing, options.steps));
  const asked = tapped ?? options.clock ?? options.want ?? options.swing;
  say(
    asked === undefined
      ? [lines.join('\n'), ...tables(tempo, options.steps)].join('\n\n')
      : lines.join('\n'),
  );
}

/** The note asked for, or those of the table. */
function wanted({ want, clock }: Options): readonly string[] {
  if (want !== undefined) return [want];
  return clock ? [] : NOTES.flatMap((note) => MARKS.map((mark) => note + mark));
}

interface NoteRow {
  readonly perQuarter: number;
  readonly note: string | null;
  readonly seconds: number;
  readonly hertz: number;
}

function rowOf(tempo: number, rate: number): NoteRow {
  const seconds = clockPeriod(tempo, rate);
  return { perQuarter: rate, note: noteOfRate(rate) ?? null, seconds, hertz: 1 / seconds };
}

function noteRow(tempo: number, note: string): NoteRow {
  const seconds = quartersOfNote(note) * secondsPerQuarter(tempo);
  const { over, under } = ratioOfNote(note);
  return { perQuarter: under / over, note, seconds, hertz: 1 / seconds };
}

/** A rate per quarter; a step is taken as straight. */
function perQuarter({ count, per }: Rate, steps: number): number {
  return per === 'quarter' ? count : count * steps;
}

function headOf(tempo: number): string {
  const quarter = secondsPerQuarter(tempo);
  return `${round(tempo)} bpm: a quarter note is ${ms(quarter)}, four of them ${round(4 * quarter)} s.`;
}

function clockLine(tempo: number, clock: Rate, steps: number): string {
  const rate = perQuarter(clock, steps);
  const { note, seconds, hertz } = rowOf(tempo, rate);
  const written = `${clock.count} per ${clock.per}`;
  const inQuarters = clock.per === 'step' ? ` (${rate} per quarter)` : '';
  const midi = rate === 24 ? ', the rate of MIDI clock' : '';
  return `${written}${inQuarters}: ${note === null ? 'no common note' : note}, ${ms(seconds)}, ${round(hertz)} Hz${midi}.`;
}

function wantLines(tempo: number, want: string, { clock, steps }: Options): string[] {
  const { over, under } = ratioOfNote(want);
  const { seconds, hertz } = noteRow(tempo, want);
  const lines = [`${want}: ${ms(seconds)}, ${round(hertz)} Hz.`];
  const rate = clock && perQuarter(clock, steps);
  if (rate === undefined) {
    lines.push(
      over === 1
        ? `Set the clock to ${under} per quarter.`
        : `Set the clock to ${under} per quarter and divide it by ${over}.`,
    );
    const midi = (24 * over) / under;
    if (Number.isInteger(midi)) lines.push(`From MIDI clock, 24 per quarter: divide by ${midi}.`);
    return lines;
  }
  const divide = dividerOf(want, rate);
  const there = `From ${clock?.count} per ${clock?.per}`;
  if (divide === 1) return [...lines, `${there}: it fits as it is.`];
  if (Number.isInteger(divide)) return [...lines, `${there}: divide by ${divide}.`];
  const times = 1 / divide;
  if (Math.abs(times - Math.round(times)) < 1e-9)
    return [
      ...lines,
      `${there}: multiply by ${Math.round(times)}, or set the clock to ${under} per quarter${over === 1 ? '' : ` and divide by ${over}`}.`,
    ];
  return [
    ...lines,
    `${there}: no divider gives it. Set the clock to ${under} per quarter${over === 1 ? '' : ` and divide by ${over}`}.`,
  ];
}

/** Clocks of a rate to one note; under 1 the clock is too slow. */
function dividerOf(note: string, rate: number): number {
  const { over, under } = ratioOfNote(note);
  return (rate * over) / under;
}

function swingLine(tempo: number, swing: number, steps: number): string {
  const late = swingDelay(swing, stepSeconds(tempo, steps));
  const note = noteOfRate(steps) ?? `step of ${steps} a quarter`;
  return `Swing ${percent(swing)} on ${note}: off-steps ${ms(late)} late; steps last ${ms(2 * swing * stepSeconds(tempo, steps))} and ${ms(2 * (1 - swing) * stepSeconds(tempo, steps))} by turns.`;
}

function tables(tempo: number, steps: number): string[] {
  const cell = (note: string): string[] => {
    const { seconds, hertz } = noteRow(tempo, note);
    return [column(seconds * 1000, 'ms', 8), column(hertz, 'Hz', 7)];
  };
  const notes = table([
    ['note', 'straight', '', 'dotted', '', 'triplet', ''],
    ...NOTES.map((note) => [note, ...MARKS.flatMap((mark) => cell(note + mark))]),
  ]);
  const step = stepSeconds(tempo, steps);
  const swings = table([
    ['swing', `off-steps of ${noteOfRate(steps) ?? `${steps} a quarter`} late by`],
    ...SWINGS.map((swing) => [percent(swing), column(swingDelay(swing, step) * 1000, 'ms', 7)]),
  ]);
  const fits = table([
    ['60 dB down after', 'decay or release', 'its time constant'],
    ...NOTES.map((note) => {
      const { seconds } = noteRow(tempo, note);
      const tau = seconds / FALL_60_DB;
      return [note, column(DECAY_CONSTANTS * tau * 1000, 'ms', 8), column(tau * 1000, 'ms', 7)];
    }),
  ]);
  return [
    `Notes; a delay of one of these times repeats on the beat\n${notes}`,
    `Swing\n${swings}`,
    `Envelopes that have died away by the next note\n${fits}`,
  ];
}

/** A number padded so that the decimal points of a column line up. */
function column(value: number, unit: string, width: number): string {
  return `${value.toFixed(2).padStart(width)} ${unit}`;
}

function ms(seconds: number): string {
  return `${round(seconds * 1000)} ms`;
}

function round(value: number): string {
  return String(Number(value.toFixed(3)));
}

function noteArgument(text: string): string {
  try {
    ratioOfNote(text);
    return text;
  } catch {
    throw new InvalidArgumentError('A note value was expected: 1/8, dotted 1/8. or triplet 1/8T.');
  }
}

function rateArgument(text: string): Rate {
  const fallback: Rate = { count: 1, per: 'step' };
  const reading = parseSetting(text, { type: 'rate', fallback, about: '' }, 'clock');
  if (reading.fault)
    throw new InvalidArgumentError(`${reading.fault.message}; expected ${reading.fault.expected}.`);
  return reading.value as Rate;
}

const EXAMPLES = `
Examples:
  forehear clock --tempo 92
  forehear clock --tempo 92 --clock "2 per quarter"
  forehear clock --tempo 92 --clock "24 per quarter" --want 1/8
  forehear clock --tempo 92 --swing 58%
  forehear clock --tap`;
