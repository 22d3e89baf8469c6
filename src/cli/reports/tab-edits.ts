/** The edits that put a pattern of drum tab into a patch: as a new pattern, or over the lines of one. */

import type { Line, Pattern } from '../../modules/score.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import type { WrittenValues } from '../../patch/edit/written.ts';
import { counted } from '../../patch/text/counted.ts';
import { type LineFeel, lineParts, lineText, ms, percent } from '../../tab/fragment.ts';
import type { TabStep } from '../../tab/grid-steps.ts';
import type { TabLine, TabPattern } from '../../tab/transcribe.ts';
import type { RhythmSettings } from '../../timing/rhythm.ts';
import { wrongRequest } from '../exit.ts';

/** Where the tab is written. */
export interface TabPlace {
  readonly file: string;
  readonly module: string;
  readonly settings: RhythmSettings;
  readonly values: WrittenValues;
  /** Names, by lines of the tab; undefined for those that are left out. */
  readonly channels: readonly (string | undefined)[];
}

export interface TabbedPattern {
  readonly name: string;
  /** What it was in the tab. */
  readonly from: string;
  readonly isNew: boolean;
  /** Channels whose lines were written. */
  readonly lines: readonly string[];
  /** Other channels that play in it. */
  readonly stay: readonly string[];
}

/** A pattern, the edits that write it, and what its lines must then be. */
export interface PlacedPattern extends TabbedPattern {
  readonly edits: readonly Edit[];
  /** By channel; undefined for a line of rests. */
  readonly tab: ReadonlyMap<string, TabLine | undefined>;
}

/** Whether a line has off-steps, and so swings. */
export function swings({ steps }: TabLine): boolean {
  return steps.some((step, index) => index % 2 === 1 && step !== undefined);
}

/** A pattern that is not there yet. */
export function newPattern(pattern: TabPattern, name: string, place: TabPlace): PlacedPattern {
  const { file, module, settings, channels } = place;
  const { stepsPerQuarter, steps } = pattern;
  const lines = pattern.lines.flatMap((line) => {
    const channel = channels[line.line];
    return channel === undefined ? [] : [{ channel, line }];
  });
  const share = lines.some(({ line }) => swings(line)) ? pattern.share : settings.swing;
  const flams = lines.flatMap(({ line }) => line.steps.flatMap((step) => step?.flam ?? []));
  const flam = flams[0] ?? settings.flam;
  const words = [
    ...(stepsPerQuarter === 4 ? [] : [['steps-per-quarter', String(stepsPerQuarter)]]),
    ...(share === settings.swing ? [] : [['swing', percent(share)]]),
    ...(flam === settings.flam ? [] : [['flam', ms(flam)]]),
    ...(lines.length === 0 ? [['length', String(steps)]] : []),
    ...lines.map(({ channel, line }) => {
      const of = { stepsPerQuarter, share: swings(line) ? share : line.share, flam };
      return [channel, lineText(lineParts(line, of))];
    }),
  ];
  const width = lines.reduce((most, { channel }) => Math.max(most, channel.length), 0) + 1;
  const isLine = (word: string): boolean => lines.some(({ channel }) => channel === word);
  const edit: Edit = {
    type: 'set-value',
    file,
    path: ['modules', module, 'patterns', name],
    text: `{ ${words.map(([word, value]) => `${word}: ${value}`).join(', ')} }`,
    block: words.map(
      ([word = '', value]) => `${`${word}:`.padEnd(isLine(word) ? width : 0)} ${value}`,
    ),
  };
  return {
    name,
    from: pattern.name,
    isNew: true,
    lines: lines.map(({ channel }) => channel),
    stay: [],
    edits: [edit],
    tab: new Map(lines.map(({ channel, line }) => [channel, line])),
  };
}

/**
 * Replaces lines of a pattern that exists.
 * @throws Stop for a pattern of another length, and for lines that say more than steps.
 */
export function oldPattern(pattern: TabPattern, old: Pattern, place: TabPlace): PlacedPattern {
  const { settings, channels } = place;
  const { stepsPerQuarter, steps } = pattern;
  if (steps !== old.length || stepsPerQuarter !== old.stepsPerQuarter)
    throw wrongRequest(
      `--pattern ${old.name}: it has ${sizeOf(old.length, old.stepsPerQuarter)}, and the bar that goes into it ${sizeOf(steps, stepsPerQuarter)}. Give the name of a new pattern.`,
    );
  const entries = settings.song.filter((one) => settings.patterns[one.pattern] === old);
  const isSaidInSong = (word: 'swing' | 'flam'): boolean =>
    entries.some((entry) => entry[word] !== undefined);
  const share = isSaidInSong('swing') ? undefined : (old.swing ?? settings.swing);
  const flam = isSaidInSong('flam') ? undefined : (old.flam ?? settings.flam);
  const tab = new Map<string, TabLine | undefined>();
  const edits: Edit[] = [];
  for (const [index, channel] of channels.entries()) {
    if (channel === undefined) continue;
    const line = pattern.lines.find((one) => one.line === index);
    const isThere = lineOf(old, channel, settings) !== undefined;
    // A line that rests in both the music and the pattern is not changed.
    if (line === undefined && !isThere) continue;
    tab.set(channel, line);
    if (share !== undefined && flam !== undefined && plays(old, channel, line, settings)) continue;
    const rests = Array.from<undefined>({ length: steps });
    const written = line ?? { line: index, steps: rests, share: share ?? 0.5 };
    const of = { stepsPerQuarter, share: swings(written) ? share : written.share, flam };
    for (const edit of lineEdits(written, of, channel, old, place)) edits.push(edit);
  }
  return {
    name: old.name,
    from: pattern.name,
    isNew: false,
    lines: [...tab.keys()],
    stay: settings.channels.flatMap(({ name }) => {
      return !tab.has(name) && lineOf(old, name, settings) !== undefined ? [name] : [];
    }),
    edits,
    tab,
  };
}

/** The edits that replace a line, or add it. */
function lineEdits(
  line: TabLine,
  of: LineFeel,
  channel: string,
  old: Pattern,
  { file, module, settings, values }: TabPlace,
): readonly Edit[] {
  const path = ['modules', module, 'patterns', old.name, channel];
  const own = values.at(path)?.entries;
  if (own === undefined)
    return [{ type: 'set-value', file, path, text: lineText(lineParts(line, of)) }];
  // The long form: its words about single steps are about the strokes that are there now.
  const stuck = ['at', 'chance'].filter((word) => own.has(word));
  if (stuck.length > 0)
    throw wrongRequest(
      `--pattern ${old.name}: its line ${channel} says ${stuck.join(' and ')} of the strokes that are there now. Take that out of ${file}, or give the name of a new pattern.`,
    );
  const held = lineOf(old, channel, settings)?.swing ?? of.share;
  const parts = lineParts(line, {
    ...of,
    share: swings(line) ? held : line.share,
    flam: own.has('flam') ? undefined : of.flam,
  });
  return [['steps', parts.tab] as const, ...parts.words].map(([word, text]) => {
    return { type: 'set-value', file, path: [...path, word], text };
  });
}

function sizeOf(steps: number, stepsPerQuarter: number): string {
  return `${counted(steps, 'step')}, ${stepsPerQuarter} per quarter`;
}

/** The line of a channel in a pattern. */
export function lineOf(
  { lines }: Pattern,
  channel: string,
  { channels }: Pick<RhythmSettings, 'channels'>,
): Line | undefined {
  return lines.find((line) => channels[line.channel]?.name === channel);
}

/** Whether a channel plays in a pattern what a line of tab has; undefined means rests. */
export function plays(
  pattern: Pattern,
  channel: string,
  wanted: TabLine | undefined,
  settings: RhythmSettings,
): boolean {
  const line = lineOf(pattern, channel, settings);
  if (line === undefined) return wanted === undefined;
  const flam = pattern.flam ?? settings.flam;
  const share = line.swing ?? pattern.swing ?? settings.swing;
  const isInTime =
    wanted === undefined || !swings(wanted) || Math.abs(share - wanted.share) < SAME_SHARE;
  return (
    isInTime &&
    (wanted === undefined || line.steps.length === wanted.steps.length) &&
    line.steps.every((step, index) => isAs(step, wanted?.steps[index], flam))
  );
}

/** Tolerances: percentages and milliseconds are rounded when they are written. */
const SAME_SHARE = 1e-5;
const SAME_FLAM = 6e-5;

/** @param flam s, for a step that does not say its own. */
function isAs(step: Line['steps'][number], wanted: TabStep | undefined, flam: number): boolean {
  if (wanted === undefined) return step.strokes === 0;
  return (
    step.strokes === wanted.strokes &&
    step.accent === (wanted.strength === 'accent') &&
    (step.ghost === true) === (wanted.strength === 'ghost') &&
    step.flam === (wanted.flam !== undefined) &&
    (!step.flam || Math.abs((step.flamSpacing ?? flam) - (wanted.flam ?? 0)) < SAME_FLAM) &&
    !step.maybe
  );
}
