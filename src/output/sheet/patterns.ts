/** What a rhythm sequencer plays: its channels, its patterns as tab with all they say besides, its song. */

import type { Line, Pattern, Step } from '../../modules/score.ts';
import type { Patch } from '../../patch/patch.ts';
import { formatTab } from '../../patch/score/tab.ts';
import { counted } from '../../patch/text/counted.ts';
import type { Words, WrittenLine } from '../../patch/words.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/rhythm.ts';
import type { StepMark } from './step-sign.ts';

export interface RhythmSheet {
  readonly name: string;
  /** As in `hat, kick (note 36)`. */
  readonly channels: string;
  /** Its entries, as `opening` and `answer × 2 (tempo 96 bpm)`. */
  readonly song: readonly string[];
  readonly patterns: readonly PatternSheet[];
}

export interface PatternSheet {
  readonly name: string;
  /** What it says besides its lines, as in `tempo 96 bpm, swing 60 %`; empty for most. */
  readonly own: string;
  readonly stepsPerQuarter: number;
  /** Steps. */
  readonly length: number;
  readonly lines: readonly LineSheet[];
}

/** A channel that plays in a pattern. */
export interface LineSheet {
  readonly channel: string;
  /** Its steps, a space between quarters. */
  readonly steps: string;
  /** The same without spaces. */
  readonly signs: string;
  /** What steps are besides their signs, by their places from 0. */
  readonly marks: StepMarks;
  /** What it says besides, as in `chance 70 %, flam 22 ms; step 5: flam 12 ms`; empty for most. */
  readonly own: string;
}

export type StepMarks = ReadonlyMap<number, StepMark>;

/** What the signs of a step stand for. */
export const STEP_SIGNS =
  'x hit, X accented hit, g ghost stroke, - rest, f flam, 2 to 8 so many strokes, ? left to chance';

/** Which lines of a pattern are shorter than it and go round, in words; empty for most. */
export function roundWords({ length, lines }: PatternSheet): string {
  const short = lines.filter(({ signs }) => signs.length < length);
  if (short.length === 0) return '';
  const words = short.map(
    ({ channel, signs }) => `${channel} goes round every ${counted(signs.length, 'step')}`,
  );
  return `${counted(length, 'step')}: ${words.join(', ')}.`;
}

/** Gives what each rhythm sequencer of a patch plays. */
export function rhythmSheets(patch: Patch): readonly RhythmSheet[] {
  return patch.modules
    .filter(({ definition }) => definition.role === 'score')
    .map(({ name, settings, written }) => {
      const rhythm = rhythmSettings(settings);
      const { channels, patterns, song } = rhythm;
      return {
        name,
        channels: channels
          .map(({ name, note }) => (note === undefined ? name : `${name} (note ${note})`))
          .join(', '),
        song: song.map(({ pattern, repeats }, index) => {
          const title = patterns[pattern]?.name ?? '';
          const own = wordsText(written?.song[index]);
          return `${title}${repeats === 1 ? '' : ` × ${repeats}`}${own === '' ? '' : ` (${own})`}`;
        }),
        patterns: patterns.map((pattern, index) => {
          const words = written?.patterns[index];
          return {
            name: pattern.name,
            own: wordsText(words?.words),
            stepsPerQuarter: pattern.stepsPerQuarter,
            length: pattern.length,
            lines: pattern.lines.map((line, at) => {
              const steps = stepsOf(line, pattern, words?.lines[at]);
              return {
                channel: channels[line.channel]?.name ?? '',
                steps,
                signs: steps.replaceAll(' ', ''),
                marks: stepMarks(line, pattern, rhythm),
                own: lineText(words?.lines[at]),
              };
            }),
          };
        }),
      };
    });
}

/**
 * What the steps of a line are besides their signs. What an entry of the song says of its own does not
 * count, since a pattern may be in many.
 */
export function stepMarks(line: Line, pattern: Pattern, rhythm: RhythmSettings): StepMarks {
  const usual = pattern.chance ?? rhythm.chance;
  const stepSeconds = 60 / (pattern.tempo ?? rhythm.tempo) / pattern.stepsPerQuarter;
  const marks = new Map<number, StepMark>();
  line.steps.forEach((step, at) => {
    const { strokes, maybe, chance, flam, flamSpacing }: Step = step;
    const gate = step.gate ?? line.gate;
    if (strokes === 0) return;
    const mark = {
      ...(maybe && { chance: chance ?? usual }),
      ...(flam && flamSpacing !== undefined && { flam }),
      ...(gate !== undefined && {
        gate: gate.unit === 'steps' ? gate.value : gate.value / stepSeconds,
      }),
    };
    if (Object.keys(mark).length > 0) marks.set(at, mark as StepMark);
  });
  return marks;
}

/** The signs as the file has them: what a line says besides stands next to it. */
function stepsOf(
  { steps }: Line,
  { stepsPerQuarter }: Pattern,
  words: WrittenLine | undefined,
): string {
  if (words === undefined) return formatTab(steps, stepsPerQuarter);
  const signs = words.tab.replace(/[\s|]/g, '');
  return signs.match(new RegExp(`.{1,${stepsPerQuarter}}`, 'g'))?.join(' ') ?? '';
}

function wordsText(words: Words = new Map()): string {
  return [...words].map(([key, value]) => `${key} ${value}`).join(', ');
}

/** Steps that say the same are told together. */
function lineText(line: WrittenLine | undefined): string {
  if (line === undefined) return '';
  const steps = new Map<string, number[]>();
  const inOrder = [...line.at].toSorted(([a], [b]) => a - b);
  for (const [step, words] of inOrder) {
    const text = wordsText(words);
    if (text !== '') steps.set(text, [...(steps.get(text) ?? []), step]);
  }
  const singles = [...steps].map(
    ([text, at]) => `${at.length === 1 ? 'step' : 'steps'} ${at.join(', ')}: ${text}`,
  );
  return [wordsText(line.words), ...singles].filter((one) => one !== '').join('; ');
}
