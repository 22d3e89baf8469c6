/**
 * Puts the strokes of a stretch of music on the steps of a grid: finds the grid, its swing, and the
 * strokes that do not fit.
 *
 * A stretch that some grid explains to the tick gets the first such grid of `GRIDS`. Played by hand, all
 * stretches share the grid that describes them in the fewest bits: a finer one places strokes
 * more exactly, but takes more bits for each. Source of the principle: J. Rissanen, Modeling by Shortest
 * Data Description, Automatica 14 (1978) 465-471 (from memory).
 */

import {
  asStep,
  exactLine,
  type FittedStretch,
  type GridKind,
  LEAST_SHARE,
  type Misfit,
  MOST_SHARE,
  MOST_STEPS,
  type PlacedStroke,
  restsOf,
  STRAIGHT,
  startOf,
  type TabStep,
  type TabStretch,
} from './grid-steps.ts';
import { swungExactly } from './swung-fit.ts';

/** The simpler grids first. */
const GRIDS: readonly GridKind[] = [
  { stepsPerQuarter: 4 },
  { stepsPerQuarter: 3 },
  { stepsPerQuarter: 4, isSwung: true },
  { stepsPerQuarter: 2, isSwung: true },
  { stepsPerQuarter: 6 },
  { stepsPerQuarter: 8 },
  { stepsPerQuarter: 8, isSwung: true },
  { stepsPerQuarter: 1, isSwung: true },
  { stepsPerQuarter: 3, isSwung: true },
  { stepsPerQuarter: 5 },
  { stepsPerQuarter: 7 },
  { stepsPerQuarter: 12 },
  { stepsPerQuarter: 16 },
  { stepsPerQuarter: 24 },
  { stepsPerQuarter: 32 },
  { stepsPerQuarter: 48 },
];
/** The usual number of steps of a quarter note. */
const USUAL = 4;
/** The most steps of a quarter note that a pattern may have. */
const FINEST = 96;
/**
 * Swings at which the search in a hand's playing starts; and the fewest strokes to show one.
 */
const SHARES = [0.54, 0.58, 0.62, 2 / 3, 0.7, MOST_SHARE];
const FEWEST_OFF = 2;
/** How exactly a hand plays: one standard deviation, s. By experience, no source. */
const SCATTER = 0.008;
/** Bits that a stroke costs that its grid does not explain, one that has no step, a ratchet, a swing. */
const STRAY_BITS = 10;
const LOST_BITS = 14;
const RATCHET_BITS = 3;
const SWING_BITS = 5;
/** Quarters in fives and sevens are rare: a few strokes that happen to be near them are of another grid. */
const RARE = [5, 7];
const RARE_BITS = 9;
/** Half the square of an error in standard deviations, in bits. */
const BITS = Math.LOG2E / 2;
/** Distances that differ by no more, as a ratio, are even as a hand plays. */
const EVEN = 1.25;
/** A stroke that is this far off its step is reported, s. */
const FAR = 0.025;

/**
 * Fits one stretch, to the tick.
 * @param tolerance quarter notes.
 * @returns undefined if no grid holds all its strokes.
 */
export function exactFit(stretch: TabStretch, tolerance: number): FittedStretch | undefined {
  for (const grid of GRIDS) {
    const steps = stepsOf(stretch, grid, tolerance);
    if (steps === undefined) continue;
    const fitted = grid.isSwung
      ? swungExactly(stretch, grid, steps, tolerance)
      : straightExactly(stretch, grid, steps, tolerance);
    if (fitted !== undefined) return fitted;
  }
  return undefined;
}

/** Fits all stretches to one grid, as well as possible. @param tolerance of lengths, quarter notes. */
export function nearestFit(stretches: readonly TabStretch[], tolerance: number): GridTrial {
  let best: GridTrial | undefined;
  for (const grid of GRIDS) {
    const counts = stretches.map((stretch) => stepsOf(stretch, grid, tolerance));
    if (counts.some((steps) => steps === undefined)) continue;
    for (const share of grid.isSwung ? SHARES : [STRAIGHT]) {
      const trial = trialOf(stretches, grid, counts as readonly number[], share);
      if (trial !== undefined && (best === undefined || trial.bits < best.bits)) best = trial;
    }
  }
  if (best !== undefined) return best;
  const lost = stretches.flatMap(({ lines }) => lines.map(({ length }) => length));
  const bits = LOST_BITS * lost.reduce((sum, count) => sum + count, 0);
  return { fitted: stretches.map(empty), bits };
}

/** Bits for all strokes of a stretch that are on their steps to the tick. */
export function bitsOf({ stepsPerQuarter, lines }: FittedStretch): number {
  const signs = lines.flatMap(({ steps }) => steps.filter((step) => step !== undefined));
  const ratchets = signs.filter(({ strokes }) => strokes > 1).length;
  const swings = new Set(lines.map(({ share }) => share).filter((share) => share !== STRAIGHT));
  const rare = RARE.includes(stepsPerQuarter) ? RARE_BITS : 0;
  return (
    signs.length * Math.log2(Math.max(USUAL, stepsPerQuarter)) +
    RATCHET_BITS * ratchets +
    SWING_BITS * swings.size +
    rare
  );
}

/** Stretches on one grid, and the bits that it takes to describe their strokes by it. */
export interface GridTrial {
  readonly fitted: readonly FittedStretch[];
  readonly bits: number;
}

/** @returns undefined for a swing that too few strokes show. */
function trialOf(
  stretches: readonly TabStretch[],
  grid: GridKind,
  counts: readonly number[],
  share: number,
): GridTrial | undefined {
  const fitAt = (share: number): GridTrial & { readonly off: number[] } => {
    const off: number[] = [];
    let bits = 0;
    const fitted = stretches.map((stretch, index) => {
      const one = nearestTo(stretch, grid, counts[index] as number, share, off);
      bits += one.bits;
      return one.fitted;
    });
    return { fitted, bits, off };
  };
  const first = fitAt(share);
  if (!grid.isSwung) {
    // Triplets whose middle is never struck are a swing.
    const isThirds = grid.stepsPerQuarter === 3 && !first.fitted.some(hasMiddle);
    const isRare = RARE.includes(grid.stepsPerQuarter);
    return {
      ...first,
      bits: first.bits + (isThirds ? 2 * SWING_BITS : 0) + (isRare ? RARE_BITS : 0),
    };
  }
  const { off } = first;
  if (off.length < FEWEST_OFF) return undefined;
  // The swing as it is played, to half a percent; by the median, since a flam may be heard at its grace stroke.
  off.sort((a, b) => a - b);
  const moved = ((off[(off.length - 1) >> 1] ?? 0) + (off[off.length >> 1] ?? 0)) / 2;
  const refined = Math.min(MOST_SHARE, Math.round(200 * (share + moved)) / 200);
  if (refined < LEAST_SHARE) return undefined;
  const found = fitAt(refined);
  return { ...found, bits: found.bits + SWING_BITS };
}

function hasMiddle({ lines }: FittedStretch): boolean {
  return lines.some(({ steps }) => steps.some((step, index) => index % 3 === 1 && step));
}

/** A stretch without any grid: all its strokes are listed as misfits. */
function empty({ lines, length }: TabStretch): FittedStretch {
  return {
    stepsPerQuarter: Math.min(FINEST, Math.max(1, Math.round(1 / length))),
    steps: 1,
    lines: lines.map(() => ({ steps: [undefined], share: STRAIGHT })),
    misfits: lines.flatMap((strokes, line) => strokes.map(({ at }) => ({ line, at }))),
  };
}

/** How many steps a stretch has; undefined if whole steps do not fill it, or if they are too many for a line. */
function stepsOf(
  { length }: TabStretch,
  { stepsPerQuarter }: GridKind,
  tolerance: number,
): number | undefined {
  const steps = Math.round(length * stepsPerQuarter);
  const isWhole = Math.abs(steps / stepsPerQuarter - length) <= tolerance;
  return isWhole && steps >= 1 && steps <= MOST_STEPS ? steps : undefined;
}

function straightExactly(
  stretch: TabStretch,
  grid: GridKind,
  steps: number,
  tolerance: number,
): FittedStretch | undefined {
  const lines: FittedStretch['lines'][number][] = [];
  for (const strokes of stretch.lines) {
    const found = exactLine(strokes, grid, steps, STRAIGHT, tolerance);
    if (found === undefined) return undefined;
    lines.push({ steps: found, share: STRAIGHT });
  }
  return { stepsPerQuarter: grid.stepsPerQuarter, steps, lines, misfits: [] };
}

/** @param off is filled with how much later than the swing the off-steps were, as shares of a pair. */
function nearestTo(
  { lines, secondsPerQuarter }: TabStretch,
  grid: GridKind,
  steps: number,
  share: number,
  off: number[],
): { readonly fitted: FittedStretch; readonly bits: number } {
  const misfits: Misfit[] = [];
  const even = (2 * SCATTER) / secondsPerQuarter;
  // A grid coarser than sixteenths costs no less: its choice would cost bits as well.
  const stepBits = Math.log2(Math.max(USUAL, grid.stepsPerQuarter));
  let bits = 0;
  let most = 0;
  const fitted = lines.map((strokes, line) => {
    if (strokes.length === 0) return { steps: restsOf(steps), share };
    const found: (TabStep | undefined)[] = Array.from({ length: steps });
    for (const [step, group] of byNearest(strokes, grid, steps, share)) {
      const start = startOf(step, grid, share, steps);
      const end = startOf(step + 1, grid, share, steps);
      const ratchet = group.length > 1 ? asStep(group.map(asPlain), start, end, even) : undefined;
      if (ratchet !== undefined) {
        found[step] = ratchet;
        // All of it has one place.
        const isQuick = group.every(({ apart }) => apart !== undefined);
        bits += stepBits * (isQuick ? 1 : group.length) + RATCHET_BITS;
        for (const [n, { at }] of group.entries()) {
          const off = at - start - (n * (end - start)) / group.length;
          most = Math.max(most, Math.abs(off) * secondsPerQuarter);
        }
        continue;
      }
      bits += stepBits * group.length;
      const near = group.reduce((best, one) =>
        Math.abs(one.at - start) < Math.abs(best.at - start) ? one : best,
      );
      for (const one of group) {
        if (one === near) continue;
        misfits.push({ line, at: one.at });
        bits += LOST_BITS;
      }
      const { strength, flam } = near;
      found[step] = { strokes: 1, strength, ...(flam !== undefined && { flam }) };
      const late = (near.at - start) * secondsPerQuarter;
      if (step % 2 === 1) off.push(((near.at - start) * grid.stepsPerQuarter) / 2);
      bits += Math.min(STRAY_BITS, BITS * (late / SCATTER) ** 2);
      if (Math.abs(late) > FAR) misfits.push({ line, at: near.at, late });
      else most = Math.max(most, Math.abs(late));
    }
    return { steps: found, share };
  });
  misfits.sort((a, b) => a.at - b.at);
  return {
    fitted: { stepsPerQuarter: grid.stepsPerQuarter, steps, lines: fitted, misfits, off: most },
    bits,
  };
}

/** How far a stroke is from the one before, if that is as far from the one before it. */
function evenlyAfter(strokes: readonly PlacedStroke[], index: number): number {
  const [first, second, third] = strokes
    .slice(Math.max(0, index - 2), index + 1)
    .map(({ at }) => at);
  if (first === undefined || second === undefined || third === undefined)
    return Number.POSITIVE_INFINITY;
  const [before, apart] = [second - first, third - second];
  return Math.max(before, apart) <= EVEN * Math.min(before, apart)
    ? apart
    : Number.POSITIVE_INFINITY;
}

/** The strokes of a ratchet differ in level by themselves. */
function asPlain(stroke: PlacedStroke): PlacedStroke {
  return stroke.apart === undefined ? stroke : { ...stroke, strength: 'plain' };
}

/** The strokes by the step that they belong to: the nearest, or the step that a quick run of them fills. */
function byNearest(
  strokes: readonly PlacedStroke[],
  grid: GridKind,
  steps: number,
  share: number,
): ReadonlyMap<number, readonly PlacedStroke[]> {
  const groups = new Map<number, PlacedStroke[]>();
  let step = 0;
  for (const [index, stroke] of strokes.entries()) {
    while (step < steps - 1 && startOf(step + 1, grid, share, steps) <= stroke.at) step++;
    const start = startOf(step, grid, share, steps);
    const end = startOf(step + 1, grid, share, steps);
    const isNext = step < steps - 1 && end - stroke.at < stroke.at - start;
    // Half a step or more after the start of a step that is struck already: a ratchet, if it is even.
    const near = Math.min((end - start) / 4, (stroke.apart ?? evenlyAfter(strokes, index)) / 2);
    const at = isNext && end - stroke.at < near ? step + 1 : step;
    const group = groups.get(at);
    if (group === undefined && isNext)
      groups.set(step + 1, [...(groups.get(step + 1) ?? []), stroke]);
    else if (group === undefined) groups.set(at, [stroke]);
    else group.push(stroke);
  }
  return groups;
}
