/** The steps of a grid: what a stretch of music is, what its steps become, and which strokes one step holds. */

/** A stroke, in quarter notes from the start of the stretch. */
export interface PlacedStroke {
  readonly at: number;
  readonly strength: 'plain' | 'accent' | 'ghost';
  /** How long before the stroke a grace stroke comes, s. */
  readonly flam?: number;
  /** Of one of several equal strokes that follow one another evenly, as those of a ratchet: quarter notes. */
  readonly apart?: number;
}

export interface TabStretch {
  /** Quarter notes. */
  readonly length: number;
  readonly secondsPerQuarter: number;
  /** By line. */
  readonly lines: readonly (readonly PlacedStroke[])[];
}

export interface TabStep {
  readonly strokes: number;
  readonly strength: PlacedStroke['strength'];
  readonly flam?: number;
}

export interface Misfit {
  readonly line: number;
  /** Where it was played, quarter notes from the start of the stretch. */
  readonly at: number;
  /** s; how much later than its step it was. Absent for a stroke that has no step of its own. */
  readonly late?: number;
}

export interface FittedStretch {
  readonly stepsPerQuarter: number;
  readonly steps: number;
  /** By line: its steps, rests being undefined, and where its off-steps come. */
  readonly lines: readonly {
    readonly steps: readonly (TabStep | undefined)[];
    readonly share: number;
  }[];
  readonly misfits: readonly Misfit[];
  /** s; the most that a fitting stroke was off its step. Absent where all are on their steps to the tick. */
  readonly off?: number;
  /** Lines that another swing writes otherwise, with the same strokes at the same times. */
  readonly alike?: readonly {
    readonly line: number;
    readonly steps: readonly (TabStep | undefined)[];
    readonly share: number;
  }[];
}

export interface GridKind {
  readonly stepsPerQuarter: number;
  readonly isSwung?: true;
}

/** The most steps of a line. */
export const MOST_STEPS = 64;
export const MOST_RATCHET = 8;
export const STRAIGHT = 0.5;
/** The least that counts as swing, and the most that a rhythm has. */
export const LEAST_SHARE = 0.52;
export const MOST_SHARE = 0.75;

/** Where a step starts, quarter notes. */
export function startOf(
  step: number,
  { stepsPerQuarter }: GridKind,
  share: number,
  steps: number,
): number {
  // With an odd number of steps, the last has no partner, so swing does not move it.
  const late = step % 2 === 1 && step < steps ? 2 * share - 1 : 0;
  return (step + late) / stepsPerQuarter;
}

/** Lists of rests, by length: lines without strokes, which most are in a long song, share them. */
const RESTS: readonly (readonly undefined[])[] = Array.from(
  { length: MOST_STEPS + 1 },
  (_, steps) => Array.from({ length: steps }),
);

export function restsOf(steps: number): readonly undefined[] {
  return RESTS[steps] as readonly undefined[];
}

/** The steps of a line; undefined if a stroke is on no step. */
export function exactLine(
  strokes: readonly PlacedStroke[],
  grid: GridKind,
  steps: number,
  share: number,
  tolerance: number,
): readonly (TabStep | undefined)[] | undefined {
  if (strokes.length === 0) return restsOf(steps);
  const found: (TabStep | undefined)[] = Array.from({ length: steps });
  let next = 0;
  for (let step = 0; step < steps; step++) {
    const start = startOf(step, grid, share, steps);
    const end = startOf(step + 1, grid, share, steps);
    const first = next;
    while (next < strokes.length && (strokes[next] as PlacedStroke).at < end - tolerance) next++;
    if (next === first) continue;
    const one = asStep(strokes.slice(first, next), start, end, tolerance);
    if (one === undefined) return undefined;
    found[step] = one;
  }
  return next === strokes.length ? found : undefined;
}

/** A hit at the start of a step, or equal strokes that fill it. */
export function asStep(
  strokes: readonly PlacedStroke[],
  start: number,
  end: number,
  tolerance: number,
): TabStep | undefined {
  const count = strokes.length;
  const [first] = strokes;
  if (first === undefined || count > MOST_RATCHET) return undefined;
  const isEven = strokes.every(
    ({ at }, index) => Math.abs(at - start - (index * (end - start)) / count) <= tolerance,
  );
  if (!isEven) return undefined;
  if (count > 1 && strokes.some(({ strength, flam }) => strength !== 'plain' || flam !== undefined))
    return undefined;
  const { strength, flam } = first;
  return { strokes: count, strength, ...(flam !== undefined && { flam }) };
}
