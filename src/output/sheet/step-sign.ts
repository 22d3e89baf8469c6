/**
 * The steps of a pattern as signs that stand on a ruled line, as the score of time has them: weight for a hit,
 * a pin on it for an accent, a hollow head for a ghost stroke, a pale dot for a rest. A ratchet has as many
 * strokes as it plays, a flam its grace stroke in front. A stroke left to chance is an outline, filled as far
 * as it is likely. A gate of its own is a foot as long as it lasts. Nothing is told by colour alone.
 */

import { brief } from '../chart/chart-svg.ts';

/** What a step is besides its sign in drum tab. */
export interface StepMark {
  /** How likely its stroke is, 0 to 1, if it is left to chance. */
  readonly chance?: number;
  /** Whether it is a flam by what is said of it. */
  readonly flam?: true;
  /** Share of the step for which its gate is high, if it has one of its own. */
  readonly gate?: number;
}

/** What a piece of a sign is, which decides how it is drawn. */
export type SignPiece = 'rest' | 'body' | 'open' | 'pin' | 'head' | 'foot';

/** A closed path. */
export interface SignPath {
  readonly piece: SignPiece;
  readonly d: string;
}

/** Units of a sign; the line on which it stands is this far down. */
export const SIGN = { width: 24, height: 28, line: 25 } as const;

const BODY = { width: 6, height: 15 };
const GHOST = { width: 2.6, height: 7 };
const GRACE = { width: 2, height: 9, at: 4 };
/** The middle of a step's one stroke, and the ends of a ratchet. */
const MIDDLE = 12;
const RATCHET = { from: 3, to: 22 };

/**
 * Draws a step.
 * @param sign as in drum tab; anything else is drawn as a rest.
 */
export function signPaths(
  sign: string,
  { chance, flam, gate }: StepMark = {},
): readonly SignPath[] {
  const strokes = /^[2-8]$/.test(sign) ? Number(sign) : /^[xXgf?]$/.test(sign) ? 1 : 0;
  if (strokes === 0) return [{ piece: 'rest', d: circle(MIDDLE, 18, 1.6) }];
  const { width, height } = sign === 'g' ? GHOST : BODY;
  const span = (RATCHET.to - RATCHET.from) / strokes;
  const wide = strokes === 1 ? width : Math.min(width, span * 0.55);
  const lefts =
    strokes === 1
      ? [MIDDLE - wide / 2]
      : Array.from({ length: strokes }, (_, stroke) => RATCHET.from + stroke * span);
  const likely = chance ?? (sign === '?' ? 0.5 : undefined);
  const paths = lefts.flatMap((left) => stroke(left, wide, height, likely));
  const first = lefts[0] as number;
  if (sign === 'f' || flam === true)
    paths.push({
      piece: 'body',
      d: box(GRACE.at, SIGN.line - GRACE.height, GRACE.width, GRACE.height),
    });
  if (sign === 'g')
    paths.push({ piece: 'head', d: circle(MIDDLE, SIGN.line - GHOST.height - 3.4, 2.6) });
  if (sign === 'X') {
    paths.push({ piece: 'pin', d: box(first - 1.2, 5, 2.4, SIGN.line - 5) });
    paths.push({ piece: 'pin', d: circle(first, 5, 3.2) });
  }
  if (gate !== undefined) {
    const length = Math.max(1, Math.min(gate * SIGN.width, SIGN.width - first));
    paths.push({ piece: 'foot', d: box(first, SIGN.line + 0.8, length, 1.8) });
  }
  return paths;
}

function stroke(
  left: number,
  width: number,
  height: number,
  chance: number | undefined,
): SignPath[] {
  const top = SIGN.line - height;
  if (chance === undefined) return [{ piece: 'body', d: box(left, top, width, height) }];
  const full = height * chance;
  return [
    { piece: 'open', d: box(left, top, width, height) },
    ...(full > 0 ? [{ piece: 'body' as const, d: box(left, SIGN.line - full, width, full) }] : []),
  ];
}

function box(x: number, y: number, width: number, height: number): string {
  return `M${brief(x)} ${brief(y)}h${brief(width)}v${brief(height)}h${brief(-width)}z`;
}

function circle(x: number, y: number, radius: number): string {
  const r = brief(radius);
  const across = brief(2 * radius);
  return `M${brief(x - radius)} ${brief(y)}a${r} ${r} 0 1 0 ${across} 0a${r} ${r} 0 1 0 ${brief(-2 * radius)} 0z`;
}

/** Draws it as markup. */
export function signMarkup(sign: string, mark?: StepMark): string {
  const paths = signPaths(sign, mark).map(({ piece, d }) => `<path class="${piece}" d="${d}"/>`);
  return `<svg class="step" viewBox="0 0 ${SIGN.width} ${SIGN.height}" aria-hidden="true">${paths.join('')}</svg>`;
}

/** How the pieces look, on a page in the colours of `chart/colours`. */
export const SIGN_STYLE = `.step{display:block;width:100%;height:auto;overflow:visible}
.step .body{fill:var(--ink)}
.step .rest,.step .foot{fill:var(--edge)}
.step .open{fill:var(--paper);stroke:var(--ink);stroke-width:1}
.step .head{fill:var(--paper);stroke:var(--ink);stroke-width:1.3}
.step .pin{fill:var(--series-2)}
.again .step .body,.again .step .pin,.again .step .rest,.again .step .foot{fill:var(--faint)}
.again .step .open,.again .step .head{stroke:var(--faint)}
@media (forced-colors:active){.step .body,.step .rest,.step .foot{fill:CanvasText}.step .pin{fill:Highlight}.step .open,.step .head{fill:Canvas;stroke:CanvasText}.again .step :is(.body,.pin,.rest,.foot){fill:GrayText}}
`;
