/** What a score says in words, for the terminal and beneath the chart. */

import { counted } from '../../patch/text/counted.ts';
import { BRIEF_DIGITS } from '../../patch/units.ts';
import type {
  Bar,
  HeardTempo,
  InputAnswer,
  Meeting,
  ScoreSection,
  Standing,
  TimeScore,
} from './time-score.ts';

/** Bars whose steps are listed for a follower. */
const LISTED_BARS = 16;

export interface ScoreWords {
  /** Input, what it listens to, what it noticed, how late: a row each. */
  readonly answers: readonly (readonly [string, string, string, string])[];
  /** Sentences. */
  readonly followers: readonly string[];
  readonly meetings: readonly string[];
}

/** What stands over the columns of {@link ScoreWords.answers}. */
export const ANSWER_HEADS = ['input', 'triggers from', 'noticed', 'after the edge'] as const;

/** Puts the numbers beside a score into words. */
export function scoreWords({ answers, followers, meetings, heard }: TimeScore): ScoreWords {
  return {
    answers: answers.map(answerRow),
    followers: [
      ...(heard === undefined ? [] : [tempoHeard(heard)]),
      ...followers.flatMap(standing),
    ],
    meetings: meetings.map(meeting),
  };
}

/** Share by which a period may be off before it is reported. */
const UNEVEN = 0.01;

function tempoHeard({ name, pulses, bpm, uneven }: HeardTempo): string {
  if (bpm === undefined)
    return `${name} follows its clock-in, where ${pulses === 0 ? 'no pulse' : 'one pulse'} was noticed; bars are counted at the tempo that it is set to.`;
  const even =
    uneven <= UNEVEN
      ? ''
      : `, which were up to ${shortNumber(Number((100 * uneven).toPrecision(3)))} % off their mean, so that strokes may stand beside their steps`;
  return `${name} follows its clock-in; bars are counted at ${shortNumber(bpm)} bpm, the mean of its ${pulses} pulses${even}.`;
}

/** How many bars are played, the last as far as it goes, to three decimals. */
export function barsPlayed({ bars, ruler }: TimeScore): number {
  const last = bars.at(-1);
  if (last === undefined) return 0;
  const part = ruler.quartersAt(last.end) / ruler.beats - (last.number - 1);
  return Number((bars.length - 1 + part).toFixed(3));
}

/** What plays in a bar: `groove, step 1, 92 bpm`; several if a pattern starts inside it. */
export function headingOf(bar: Bar, sections: readonly ScoreSection[]): string {
  const before = sections.findLast(({ start }) => start <= bar.start + 1e-9);
  const inside = sections.filter(({ start }) => start > bar.start + 1e-9 && start < bar.end - 1e-9);
  return [...(before ? [before] : []), ...inside]
    .map((section) => {
      const { pattern, start, step, tempo, swing } = section;
      const into = 1 + Math.max(0, Math.round((bar.start - start) / step));
      const late = swing === 0.5 ? '' : `, off-steps ${inMs((2 * swing - 1) * step)} late`;
      return `${pattern}${into === 1 ? '' : ` from step ${into}`}, ${shortNumber(tempo)} bpm${late}`;
    })
    .join('; ');
}

/** A time in milliseconds, to four digits: `0.98 ms`. */
function inMs(seconds: number): string {
  return `${briefly(seconds * 1000)} ms`;
}

function briefly(value: number): string {
  return shortNumber(Number(value.toPrecision(BRIEF_DIGITS)));
}

/** A number with as many decimals as matter, three at most. */
export function shortNumber(value: number): string {
  return String(Number(value.toFixed(3)));
}

function answerRow({
  jack,
  origins,
  noticed,
  sent,
  latency,
}: InputAnswer): ScoreWords['answers'][number] {
  const from = origins.length === 0 ? 'no rhythm' : origins.join(', ');
  const count = sent === undefined ? `${noticed}` : `${noticed} of ${sent}`;
  return [jack, from, count, latency === undefined ? '' : late(latency)];
}

function late({ least, most }: { least: number; most: number }): string {
  return inMs(least) === inMs(most) ? inMs(least) : `${briefly(least * 1000)} to ${inMs(most)}`;
}

function standing({ name, length, atBars, clocks, resets, meets }: Standing): string[] {
  const listed = atBars.slice(0, LISTED_BARS);
  const [first, last] = [listed[0], listed.at(-1)];
  const places = listed.map(({ position }) => position ?? 'none').join(', ');
  const at =
    first === undefined || last === undefined
      ? []
      : first === last
        ? [`${name} (${counted(length, 'step')}) begins bar ${first.bar} at step ${places}.`]
        : [
            `${name} (${counted(length, 'step')}) begins bars ${first.bar} to ${last.bar} at steps ${places}${atBars.length > listed.length ? ' ...' : ''}.`,
          ];
  if (clocks === undefined) return at;
  if (clocks === 0) return [...at, `${name} notices no clock.`];
  const gets = `${name} gets ${counted(clocks, 'clock')} in the song`;
  if (resets > 0)
    return [...at, `${gets} and ${resets === 1 ? 'is reset once' : `is reset ${resets} times`}.`];
  if (meets === undefined) return at;
  return [
    ...at,
    meets.passes === 1
      ? `${gets}, so it comes round with it.`
      : `${gets}, so they meet again after ${meets.passes} times through it: ${bars(meets.bars)}.`,
  ];
}

function meeting({ pattern, lines, length, steps, bars: count }: Meeting): string {
  const names = lines.map((line) => `${line.channel} (${counted(line.steps, 'step')})`).join(', ');
  return `In pattern ${pattern} ${names} and the pattern (${length}) start together again after ${steps} steps: ${bars(count)}.`;
}

function bars(count: number): string {
  return counted(Number(shortNumber(count)), 'bar');
}
