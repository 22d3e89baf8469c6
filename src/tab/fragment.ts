/** Writes tab as YAML: a rhythm module with its channels, patterns and song, to be put into a patch. */

import { formatBriefly } from '../patch/units.ts';
import { jsonText } from '../text/printable.ts';
import type { TabStep } from './grid-steps.ts';
import type { LineName } from './music.ts';
import type { Tab, TabLine, TabPattern } from './transcribe.ts';

export interface FragmentOf {
  readonly tab: Tab;
  readonly lines: readonly LineName[];
  readonly beatsPerBar: number;
  /** What it was made of, such as the name of a file. */
  readonly source: string;
  /** Name of the module. */
  readonly module: string;
}

/** A whole file that `parts:` takes, or whose module is pasted among those of a patch. */
export function fragment({ tab, lines, beatsPerBar, source, module }: FragmentOf): string {
  const notes = lines.flatMap(({ name, note }) => (note === undefined ? [] : `${name}: ${note}`));
  const text = [
    `title: ${jsonText(source)}`,
    'modules:',
    `  ${module}:`,
    '    kind: rhythm',
    `    tempo: ${tab.bpm} bpm`,
    ...(beatsPerBar === 4 ? [] : [`    beats-per-bar: ${beatsPerBar}`]),
    ...(tab.flam === undefined ? [] : [`    flam: ${ms(tab.flam)}`]),
    `    channels: [${lines.map(({ name }) => name).join(', ')}]`,
    ...(notes.length === 0 ? [] : [`    notes: { ${notes.join(', ')} }`]),
    '    patterns:',
    ...tab.patterns.flatMap((pattern) => patternText(pattern, { tab, lines })),
    '    song:',
    ...tab.song.map(({ pattern, repeats, bpm }) => {
      const words = [
        `pattern: ${pattern}`,
        ...(repeats === 1 ? [] : [`repeats: ${repeats}`]),
        ...(bpm === tab.bpm ? [] : [`tempo: ${bpm} bpm`]),
      ];
      return `      - ${words.length === 1 ? pattern : `{ ${words.join(', ')} }`}`;
    }),
  ];
  return `${text.join('\n')}\n`;
}

function patternText(
  { name, stepsPerQuarter, steps, share, lines: played }: TabPattern,
  { tab, lines }: Pick<FragmentOf, 'tab' | 'lines'>,
): readonly string[] {
  const text = [`      ${name}:`];
  if (stepsPerQuarter !== 4) text.push(`        steps-per-quarter: ${stepsPerQuarter}`);
  if (share !== 0.5) text.push(`        swing: ${percent(share)}`);
  if (played.length === 0) text.push(`        length: ${steps}`);
  const width = played.reduce((most, { line }) => Math.max(most, nameAt(lines, line).length), 0);
  for (const line of played) {
    const label = `${nameAt(lines, line.line)}:`.padEnd(width + 1);
    text.push(
      `        ${label} ${lineText(lineParts(line, { stepsPerQuarter, share, flam: tab.flam }))}`,
    );
  }
  return text;
}

function nameAt(lines: readonly LineName[], index: number): string {
  return lines[index]?.name ?? '';
}

/** The values that apply to a line without its own. */
export interface LineFeel {
  readonly stepsPerQuarter: number;
  /** Where off-steps come; undefined where each line must give it. */
  readonly share: number | undefined;
  /** s, between the strokes of a flam; undefined where each step must give it. */
  readonly flam: number | undefined;
}

/** A line of drum tab: its signs in quotation marks, and its other attributes. */
export interface LineParts {
  readonly tab: string;
  readonly words: ReadonlyMap<'swing' | 'at', string>;
}

export function lineParts({ steps, share }: TabLine, of: LineFeel): LineParts {
  const at = steps.flatMap((step, index) => {
    if (step?.flam === undefined) return [];
    const isPlain = step.strength === 'plain' && step.flam === of.flam;
    return isPlain ? [] : [`${index + 1}: { flam: ${ms(step.flam)} }`];
  });
  const words = new Map<'swing' | 'at', string>();
  if (share !== of.share) words.set('swing', percent(share));
  if (at.length > 0) words.set('at', `{ ${at.join(', ')} }`);
  return { tab: `"${grouped(steps.map(sign), of.stepsPerQuarter)}"`, words };
}

/** A line as a pattern has it, in one line of YAML. */
export function lineText({ tab, words }: LineParts): string {
  if (words.size === 0) return tab;
  const own = [...words].map(([word, value]) => `${word}: ${value}`);
  return `{ steps: ${[tab, ...own].join(', ')} }`;
}

function sign(step: TabStep | undefined): string {
  if (step === undefined) return '-';
  if (step.strokes > 1) return String(step.strokes);
  if (step.strength !== 'plain') return step.strength === 'accent' ? 'X' : 'g';
  return step.flam === undefined ? 'x' : 'f';
}

/** A gap after each quarter note. */
function grouped(signs: readonly string[], stepsPerQuarter: number): string {
  const size = Math.max(stepsPerQuarter, 2);
  return signs.map((one, index) => (index > 0 && index % size === 0 ? ` ${one}` : one)).join('');
}

export function ms(seconds: number): string {
  return `${Number((seconds * 1000).toFixed(1))} ms`;
}

/** To five digits, of which a swing has three after the point. */
export function percent(share: number): string {
  return formatBriefly(share, 'percent', 5);
}
