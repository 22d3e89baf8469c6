/** Writes tab as YAML: a rhythm module with its channels, patterns and song, to be put into a patch. */

import { jsonText } from '../patch/text/printable.ts';
import type { TabStep } from './grid-fit.ts';
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
    text.push(`        ${label} ${lineText(line, { stepsPerQuarter, share, flam: tab.flam })}`);
  }
  return text;
}

function nameAt(lines: readonly LineName[], index: number): string {
  return lines[index]?.name ?? '';
}

function lineText(
  { steps, share }: TabLine,
  of: {
    readonly stepsPerQuarter: number;
    readonly share: number;
    readonly flam: number | undefined;
  },
): string {
  const at = steps.flatMap((step, index) => {
    if (step?.flam === undefined) return [];
    const isPlain = step.strength === 'plain' && step.flam === of.flam;
    return isPlain ? [] : [`${index + 1}: { flam: ${ms(step.flam)} }`];
  });
  const tab = `"${grouped(steps.map(sign), of.stepsPerQuarter)}"`;
  const words = [
    ...(share === of.share ? [] : [`swing: ${percent(share)}`]),
    ...(at.length === 0 ? [] : [`at: { ${at.join(', ')} }`]),
  ];
  return words.length === 0 ? tab : `{ steps: ${[tab, ...words].join(', ')} }`;
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

function ms(seconds: number): string {
  return `${Number((seconds * 1000).toFixed(1))} ms`;
}

function percent(share: number): string {
  return `${Number((share * 100).toFixed(3))} %`;
}
