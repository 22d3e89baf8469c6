/** What one channel does in one pattern: drum tab alone, or the long form with `steps` and the rest. */

import type { Settings, Span } from '../../modules/definition.ts';
import type { Line, Step } from '../../modules/score.ts';
import { readSetting } from '../settings.ts';
import { type Entry, entryOf, isEmpty, type MapNode, mapOf, reportWrong } from '../text/nodes.ts';
import { quoted, type Report } from '../text/report.ts';
import type { PlainSpec } from '../units.ts';
import { type Words, type WrittenLine, wordsIn, wordsOfNode } from '../words.ts';
import { readTab, TAB_RULE } from './tab.ts';

/** What a line may say besides its steps, and what a single step may; specs are the rhythm's own. */
export const LINE_WORDS = ['chance', 'flam', 'gate', 'swing'];
export const STEP_WORDS = ['chance', 'flam', 'gate'];
const LINE_RULE = `drum tab such as "x-x-X-x-", or { steps: ..., ${LINE_WORDS.join(', ')}, at }`;

interface StepOverrides {
  readonly chance?: number;
  readonly flam?: number;
  readonly gate?: Span;
  readonly swing?: number;
}

/** A line, and how the file has it. */
export interface ReadLine {
  readonly line: Line;
  readonly written: WrittenLine;
}

/** The line of one channel; undefined, and reported, if its steps cannot be read. */
export function readLine(
  entry: Entry,
  channel: number,
  settings: Settings,
  report: Report,
): ReadLine | undefined {
  const { value } = entry;
  if (value.type === 'text' && !isEmpty(value)) {
    const steps = readTab(value, report);
    const written = { tab: wordsOfNode(value), words: new Map(), at: new Map() };
    return steps && { line: { channel, steps }, written };
  }
  if (value.type !== 'map') return reportWrong(entry, LINE_RULE, report);
  const words = ownWords(LINE_WORDS, settings);
  const own = readOwn(value, ['steps', 'at', ...words], words, settings, report);
  const tab = entryOf(value, 'steps');
  if (!tab) {
    report.add('missing', entry.at, `${quoted(entry.key)} has no steps`, { expected: TAB_RULE });
    return undefined;
  }
  if (tab.value.type !== 'text' || isEmpty(tab.value)) return reportWrong(tab, TAB_RULE, report);
  const written = readTab(tab.value, report);
  if (!written) return undefined;
  const steps = written.map((step) => withLine(step, own, written));
  const at = entryOf(value, 'at');
  return {
    written: {
      tab: wordsOfNode(tab.value),
      words: wordsIn(value, (key) => words.includes(key)),
      at: at ? readSingles(at, steps, settings, report) : new Map(),
    },
    line: {
      channel,
      steps,
      ...(own.gate !== undefined && { gate: own.gate }),
      ...(own.swing !== undefined && { swing: own.swing }),
    },
  };
}

/**
 * The widest flam of a line, s; 0 without any.
 * @param flam s, of steps that have none of their own.
 */
export function widestFlam({ steps }: Line, flam: number): number {
  return steps.reduce(
    (most, step) => (step.flam ? Math.max(most, step.flamSpacing ?? flam) : most),
    0,
  );
}

/** A line's chance is for its `?`; in a line without any, for every hit. Its flam is for its `f`. */
function withLine(step: Step, { chance, flam }: StepOverrides, line: readonly Step[]): Step {
  const open = line.some(({ maybe }) => maybe) ? step.maybe : step.strokes > 0;
  return {
    ...step,
    ...(chance !== undefined && open && { maybe: true, chance }),
    ...(flam !== undefined && step.flam && { flamSpacing: flam }),
  };
}

/**
 * Reads `at: { 7: { chance: 50 % } }` into `steps`; steps are counted from 1.
 * @returns its words, by the numbers of the steps.
 */
function readSingles(
  at: Entry,
  steps: Step[],
  settings: Settings,
  report: Report,
): ReadonlyMap<number, Words> {
  const written = new Map<number, Words>();
  const words = ownWords(STEP_WORDS, settings);
  const rule = `step numbers with ${words.join(', ')}, such as { 7: { chance: 50 % } }`;
  for (const entry of mapOf(at, rule, report)?.entries ?? []) {
    const number = /^[0-9]+$/.test(entry.key) ? Number(entry.key) : Number.NaN;
    const step = steps[number - 1];
    if (!step) {
      const code = Number.isNaN(number) ? 'wrong-type' : 'range';
      report.add(code, entry.at, `there is no step ${quoted(entry.key)}`, {
        expected: `a step number from 1 to ${steps.length}`,
      });
      continue;
    }
    const map = mapOf(entry, `some of ${words.join(', ')}`, report);
    if (!map) continue;
    written.set(
      number,
      wordsIn(map, (key) => words.includes(key)),
    );
    const { chance, flam, gate } = readOwn(map, words, words, settings, report);
    if (step.strokes === 0) {
      report.add('pattern', entry.at, `step ${number} is a rest`);
    } else if (flam !== undefined && step.strokes > 1) {
      report.add('pattern', entry.at, `step ${number} has ${step.strokes} strokes, so no flam`);
    } else {
      steps[number - 1] = {
        ...step,
        ...(chance !== undefined && { maybe: true, chance }),
        ...(flam !== undefined && { flam: true, flamSpacing: flam }),
        ...(gate !== undefined && { gate }),
      };
    }
  }
  return written;
}

/** Those of `words` that the rhythm has as settings. */
function ownWords(words: readonly string[], settings: Settings): readonly string[] {
  return words.filter((word) => Object.hasOwn(settings, word));
}

function readOwn(
  map: MapNode,
  legal: readonly string[],
  words: readonly string[],
  settings: Settings,
  report: Report,
): StepOverrides {
  const own: { [word: string]: unknown } = {};
  for (const entry of map.entries) {
    if (words.includes(entry.key)) {
      const value = readSetting(entry, settings[entry.key] as PlainSpec, report);
      if (value !== undefined) own[entry.key] = value;
    } else if (!legal.includes(entry.key)) {
      const message = `there is no ${quoted(entry.key)} here`;
      report.unknown('unknown-key', entry.at, message, entry.key, legal);
    }
  }
  return own as StepOverrides;
}
