/**
 * The swing that explains a stretch of music to the tick.
 *
 * Several may: five strokes in a row are a ratchet of five in a long step, or one of four in a shorter one with the
 * stroke that follows it. The reading in the fewest bits is taken: of signs, of their ratchets, and of what must be
 * said of swing. Source of the principle: J. Rissanen, Modeling by Shortest Data Description, Automatica 14 (1978)
 * 465-471 (from memory).
 */

import {
  exactLine,
  type FittedStretch,
  type GridKind,
  LEAST_SHARE,
  MOST_RATCHET,
  MOST_SHARE,
  type PlacedStroke,
  STRAIGHT,
  type TabStep,
  type TabStretch,
} from './grid-steps.ts';

/** A line by some swing. */
interface SwungLine {
  readonly steps: readonly (TabStep | undefined)[];
  readonly share: number;
}

interface SwungReading {
  readonly lines: readonly SwungLine[];
  readonly share: number;
  readonly bits: number;
}

/** Bits of a step that is struck, of a ratchet's count, of a swing in whole percent, and of each further decimal. */
const SIGN_BITS = 2;
const RATCHET_BITS = 3;
const SWING_BITS = 5;
const DECIMAL_BITS = Math.log2(10);
/** Bits of a swing that nobody hears as one, and of one beyond triplets, which is rarer. By experience, no source. */
const UNHEARD_BITS = 10;
const WIDE_BITS = 3;
const THIRDS = 0.66667;
/** Bits by which another reading is so near that it is told. */
const NEAR_BITS = 5;

/** @returns undefined if no swing holds all strokes. @param tolerance quarter notes. */
export function swungExactly(
  stretch: TabStretch,
  grid: GridKind,
  steps: number,
  tolerance: number,
): FittedStretch | undefined {
  const own = stretch.lines.map((strokes) => sharesOf(strokes, grid, steps, tolerance));
  const readings = [...new Set(own.flat())].flatMap((share): SwungReading[] => {
    const lines: SwungLine[] = [];
    let bits = shareBits(share);
    for (const [index, strokes] of stretch.lines.entries()) {
      const ways = [...new Set([share, ...(own[index] ?? []), STRAIGHT])].flatMap((one) => {
        const found = exactLine(strokes, grid, steps, one, tolerance);
        if (found === undefined) return [];
        const more = one === share ? 0 : shareBits(one);
        return [{ line: { steps: found, share: one }, bits: more + signBits(found) }];
      });
      const [first, ...others] = ways;
      if (first === undefined) return [];
      const best = others.reduce((a, b) => (b.bits < a.bits ? b : a), first);
      lines.push(best.line);
      bits += best.bits;
    }
    return [{ lines, share, bits }];
  });
  const [first, ...others] = readings;
  if (first === undefined) return undefined;
  const best = others.reduce((a, b) => (b.bits < a.bits ? b : a), first);
  return {
    stepsPerQuarter: grid.stepsPerQuarter,
    steps,
    lines: best.lines,
    misfits: [],
    alike: readings.flatMap((one) => (one === best ? [] : othersIn(one, best))),
  };
}

/** The lines that another reading writes otherwise, if it is nearly as likely. */
function othersIn(one: SwungReading, best: SwungReading): NonNullable<FittedStretch['alike']> {
  if (one.share < LEAST_SHARE || one.bits > best.bits + NEAR_BITS) return [];
  const signs = ({ steps }: SwungLine): string =>
    JSON.stringify(steps.map((step) => step?.strokes));
  return one.lines.flatMap((line, index) =>
    signs(line) === signs(best.lines[index] as SwungLine) ? [] : [{ ...line, line: index }],
  );
}

function signBits(steps: readonly (TabStep | undefined)[]): number {
  let bits = 0;
  for (const step of steps)
    if (step !== undefined) bits += SIGN_BITS + (step.strokes > 1 ? RATCHET_BITS : 0);
  return bits;
}

function shareBits(share: number): number {
  const unusual = share > THIRDS ? WIDE_BITS : 0;
  return (
    SWING_BITS + DECIMAL_BITS * decimalsOf(share) + (share < LEAST_SHARE ? UNHEARD_BITS : unusual)
  );
}

/** Of a share in percent; two thirds are as round as a whole percent. */
function decimalsOf(share: number): number {
  if (share === THIRDS) return 0;
  const text = String(Number((100 * share).toFixed(3)));
  return (text.split('.')[1] ?? '').length;
}

/**
 * The swings that explain a line, where it has strokes on off-steps, or a ratchet that is as long as swing makes
 * it.
 */
function sharesOf(
  strokes: readonly PlacedStroke[],
  grid: GridKind,
  steps: number,
  tolerance: number,
): readonly number[] {
  const pair = 2 / grid.stepsPerQuarter;
  const isSwing = (share: number): boolean =>
    share > STRAIGHT && share <= MOST_SHARE + tolerance / pair;
  const explains = (share: number, within: number): boolean =>
    exactLine(strokes, grid, steps, share, within) !== undefined;
  const found: number[] = [];
  const isKnown = (share: number): boolean =>
    found.some((one) => Math.abs(one - share) * pair <= 2 * tolerance);
  const shares = strokes.map(({ at }) => (at % pair) / pair).filter(isSwing);
  for (const first of shares) {
    if (isKnown(first) || !explains(first, 2 * tolerance)) continue;
    const near = shares.filter((share) => Math.abs(share - first) * pair <= 2 * tolerance);
    const mean = near.reduce((sum, share) => sum + share, 0) / near.length;
    found.push(Math.min(MOST_SHARE, roundShares(mean, tolerance / 2 / pair)[0] as number));
  }
  const lengths = ratchetLengths(strokes, pair, tolerance).filter(isSwing);
  for (const share of lengths.flatMap((length) => roundShares(length, (2 * tolerance) / pair)))
    if (!isKnown(share) && explains(share, tolerance)) found.push(share);
  return found;
}

/** What the first steps of pairs last, as shares of a pair, if what they begin with are the strokes of a ratchet. */
function ratchetLengths(
  strokes: readonly PlacedStroke[],
  pair: number,
  tolerance: number,
): readonly number[] {
  return strokes.flatMap(({ at }, index) => {
    const isFirst = Math.abs(at - pair * Math.round(at / pair)) <= tolerance;
    const others = isFirst ? strokes.slice(index + 1, index + MOST_RATCHET) : [];
    return others.map((one, k) => (((one.at - at) / pair) * (k + 2)) / (k + 1));
  });
}

/** Shares that are near enough: two thirds, if they are, and the nearest with the fewest decimals of a percent. */
function roundShares(share: number, tolerance: number): readonly number[] {
  const thirds = Math.abs(share - 2 / 3) <= tolerance ? [THIRDS] : [];
  for (const places of [100, 1000, 10_000]) {
    const round = Math.round(share * places) / places;
    if (Math.abs(round - share) <= tolerance) return [...thirds, round];
  }
  return [...thirds, Math.round(share * 100_000) / 100_000];
}
