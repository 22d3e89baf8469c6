/**
 * Where the steps of a pattern fall. Steps come in pairs, counted from the pattern's first step: the
 * off-step of a pair comes at `swing` of it. In a pattern with an odd number of steps the last one
 * has no partner and is straight, so every pattern ends where a straight one would.
 */

import { decimal, type Fixed, type Ratio, type Split, scaled, split } from './fixed.ts';
import type { Section } from './song.ts';

/** The three lengths a step can have. */
const ON_STEP = 0;
const OFF_STEP = 1;
/** The last step of a pattern with an odd number of them. */
const LONE_STEP = 2;
export type StepShape = typeof ON_STEP | typeof OFF_STEP | typeof LONE_STEP;

/** A stretch of a section, an even number of steps from its start: the unit in which time is computed. */
export interface StepStretch {
  readonly section: Section;
  /** Steps of the section before it; even. */
  readonly from: number;
  /** Steps of the section up to its end. */
  readonly to: number;
  /** From the start of the performance. */
  readonly start: Split;
  readonly end: Split;
}

/** Steps in a stretch. Few, so that a sum of splits in it stays exact; more would save little. */
const STRETCH_STEPS = 32;

/** Divides a section into stretches. */
export function* stretchesOf(section: Section): Generator<StepStretch, void> {
  const { length } = section.groove.pattern;
  for (let from = 0; from < length; from += STRETCH_STEPS) {
    const to = Math.min(from + STRETCH_STEPS, length);
    const start = split(startOfStep(section, from));
    yield { section, from, to, start, end: split(startOfStep(section, to)) };
  }
}

/** Gives where a straight step of a section starts, from the start of the performance. */
export function startOfStep(section: Section, step: number): Fixed {
  return section.start + section.groove.step * BigInt(step);
}

/** The steps of one tempo and one swing. */
export class Grid {
  private readonly pair: Split;
  private readonly onStep: Split;
  private readonly lengths: readonly Fixed[];
  /** By denominator, then by numerator. */
  private readonly shares = new Map<bigint, Map<bigint, readonly Split[]>>();

  /**
   * @param step length of a straight step.
   * @param swing share of the pair at which the off-step comes.
   */
  constructor(step: Fixed, swing: number) {
    const pair = 2n * step;
    const onStep = scaled(pair, decimal(swing));
    this.pair = split(pair);
    this.onStep = split(onStep);
    this.lengths = [onStep, pair - onStep, step];
  }

  /** Whole samples from the stretch's start to a step's; with {@link fractionTo} the exact place. */
  wholeTo(step: number, stretch: StepStretch): number {
    const inStretch = step - stretch.from;
    return (inStretch >> 1) * this.pair.whole + (inStretch & 1 ? this.onStep.whole : 0);
  }

  /** The rest of {@link wholeTo}, in samples; may be over 1. */
  fractionTo(step: number, stretch: StepStretch): number {
    const inStretch = step - stretch.from;
    return (inStretch >> 1) * this.pair.fraction + (inStretch & 1 ? this.onStep.fraction : 0);
  }

  /** Gives a share of the length of each shape of step. */
  shareOfStep(share: Ratio): readonly Split[] {
    const known = this.shares.get(share.den) ?? new Map<bigint, readonly Split[]>();
    this.shares.set(share.den, known);
    let splits = known.get(share.num);
    if (splits === undefined) {
      splits = this.lengths.map((length) => split(scaled(length, share)));
      known.set(share.num, splits);
    }
    return splits;
  }
}

/** Tells which length a step has in a pattern. */
export function shapeOfStep(step: number, patternLength: number): StepShape {
  if (step & 1) return OFF_STEP;
  return step + 1 === patternLength ? LONE_STEP : ON_STEP;
}
