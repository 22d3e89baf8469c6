/** Lines of drum tab as the file has them: several signs can mean the same step. */

import type { Line } from '../../../modules/score.ts';
import type { WrittenValues } from '../../../patch/edit/written.ts';
import { formatTab } from '../../../patch/score/tab.ts';

/** One channel's line of one pattern. */
export interface ChannelLine {
  readonly tab: string;
  /** Whether the pattern has the line itself, not from another. */
  readonly isOwn: boolean;
  /** Whether it is the form `{ steps: ..., chance: ... }`. */
  readonly isLong: boolean;
  /** The attributes of that form besides the steps, as `key: value`. */
  readonly others: readonly string[];
}

/** Finds a line by the names of its rhythm, pattern and channel; undefined if there is none. */
export function writtenLine(
  values: WrittenValues,
  module: string,
  pattern: string,
  channel: string,
): ChannelLine | undefined {
  const seen = new Set<string>();
  for (let name: string | undefined = pattern; name !== undefined && !seen.has(name); ) {
    seen.add(name);
    const path: string[] = ['modules', module, 'patterns', name];
    const line = values.at([...path, channel]);
    if (line !== undefined) {
      const tab = line.text ?? values.at([...path, channel, 'steps'])?.text;
      if (tab === undefined) return undefined;
      const entries = [...(line.entries ?? [])].filter(([key]) => key !== 'steps');
      return {
        tab,
        isOwn: name === pattern,
        isLong: line.entries !== undefined,
        others: entries.map(([key, value]) => `${key}: ${value}`),
      };
    }
    name = values.at([...path, 'from'])?.text;
  }
  return undefined;
}

/** The signs of a line: as written, unless its present value was given elsewhere. */
export function signsOf(line: Line, written: ChannelLine | undefined): string {
  const signs = bare(written?.tab ?? '');
  const holds =
    signs.length === line.steps.length &&
    line.steps.every(({ strokes }, index) => strokes === strokeCount(signs[index]));
  return holds ? signs : formatTab(line.steps);
}

/** Steps with the spaces and bars that the line had, or a space between quarters. */
export function likeWritten(steps: string, written: string | undefined, group: number): string {
  const signs = bare(steps);
  if (written === undefined || bare(written).length !== signs.length)
    return signs.match(new RegExp(`.{1,${group}}`, 'g'))?.join(' ') ?? '';
  let at = 0;
  return written.replace(/[^\s|]/g, () => signs[at++] as string);
}

/** Strokes that a sign stands for. */
export function strokeCount(sign: string | undefined): number {
  if (sign === '-') return 0;
  return sign !== undefined && /[2-8]/.test(sign) ? Number(sign) : 1;
}

/** The signs alone. */
export function bare(tab: string): string {
  return tab.replace(/[\s|]/g, '');
}
