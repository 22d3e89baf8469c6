/** Drum tab: one character a step; spaces and `|` are for the eye. */

import type { Step } from '../../modules/score.ts';
import type { TextNode } from '../text/nodes.ts';
import { type Advice, quoted, type Report } from '../text/report.ts';

export const MAX_STEPS = 64;
export const TAB_RULE =
  'x for a hit, X an accent, g a ghost stroke, - a rest, f a flam, 2 to 8 that many strokes, ? a hit left to chance';
/** The same rule for the JSON Schema. */
export const TAB_PATTERN = '^[xXgf?2-8|\\s-]*[xXgf?2-8-][xXgf?2-8|\\s-]*$';

interface SignMarks {
  readonly accent?: true;
  readonly ghost?: true;
  readonly flam?: true;
  readonly maybe?: true;
}

/** One step of a line, as its character alone says it. */
function step(strokes: number, mark: SignMarks = {}): Step {
  return { strokes, accent: false, flam: false, maybe: false, ...mark };
}

const STEPS: ReadonlyMap<string, Step> = new Map([
  ['-', step(0)],
  ['x', step(1)],
  ['X', step(1, { accent: true })],
  ['g', step(1, { ghost: true })],
  ['f', step(1, { flam: true })],
  ['?', step(1, { maybe: true })],
  ...[2, 3, 4, 5, 6, 7, 8].map((strokes) => [String(strokes), step(strokes)] as const),
]);

/** What editors and word processors make of quotation marks and of "-". */
const CURLED = /[“”„‟«»‘’‚]/g;
const DASHES = /[‐‑‒–—−]/g;

/** What was expected, or the line as it was typed before an editor changed its signs. */
function adviceOn(wrong: string, line: string): Advice {
  const isChanged = wrong.replace(CURLED, '').replace(DASHES, '') === '';
  if (!isChanged || line.length > 200) return { expected: TAB_RULE };
  const typed = line.replace(CURLED, '').replace(/—/g, '--').replace(DASHES, '-');
  return {
    expected: 'the quotation marks " and the sign - of the keyboard',
    nearest: `"${typed.trim()}"`,
  };
}

/**
 * Reads a line of drum tab, 1 to 64 steps.
 * @returns undefined, with each run of wrong characters reported, if it cannot be read.
 */
export function readTab(node: TextNode, report: Report): readonly Step[] | undefined {
  const steps: Step[] = [];
  let wrong = false;
  for (const match of node.text.matchAll(/[xXgf?2-8-]|[\s|]+|[^xXgf?2-8\s|-]+/g)) {
    const found = STEPS.get(match[0]);
    if (found) steps.push(found);
    else if (!/^[\s|]/.test(match[0])) {
      wrong = true;
      const at = node.within(match.index, match.index + match[0].length);
      const message = `${quoted(match[0])} is not a step`;
      report.add('pattern', at, message, adviceOn(match[0], node.text));
    }
  }
  if (wrong) return undefined;
  if (steps.length === 0) {
    report.add('pattern', node.place, 'a line without steps', { expected: TAB_RULE });
    return undefined;
  }
  if (steps.length > MAX_STEPS) {
    report.add('pattern', node.place, `a line of ${steps.length} steps`, {
      expected: `1 to ${MAX_STEPS} steps`,
    });
    return undefined;
  }
  return steps;
}

/**
 * Writes steps as drum tab, in groups of `group` steps; what tab has no sign for (a step's own
 * chance, flam spacing or gate) is left out.
 */
export function formatTab(steps: readonly Step[], group = steps.length): string {
  let text = '';
  steps.forEach((one, index) => {
    if (index > 0 && group > 0 && index % group === 0) text += ' ';
    text += sign(one);
  });
  return text;
}

function sign(one: Step): string {
  if (one.strokes === 0) return '-';
  if (one.strokes > 1) return String(one.strokes);
  if (one.maybe) return '?';
  if (one.flam) return 'f';
  if (one.ghost) return 'g';
  return one.accent ? 'X' : 'x';
}
