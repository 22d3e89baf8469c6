/**
 * Recorded pulses beside those of a plan: which come late or early, which are missing, which are too
 * many. The recording may begin anywhere and its clock be a little off, so both are first lined up by
 * the start and the rate that most pulses agree on.
 */

import { median } from '../median.ts';

export interface Alignment {
  /** s: where in the recording the plan begins. */
  readonly start: number;
  /** How much longer the recording's seconds are, in parts of a million; 0 for fewer than four pulses. */
  readonly drift: number;
  /**
   * s: starting so much earlier it would fit as well, so that this cannot be known; undefined where it can. Of such
   * starts this is the one at which the recording begins, or the latest.
   */
  readonly asWell: number | undefined;
  readonly pulses: readonly AlignedPulse[];
  /** s in the recording: pulses that were not planned. */
  readonly extra: readonly number[];
}

export interface AlignedPulse {
  /** s from the plan's start. */
  readonly planned: number;
  /** s behind the plan, without start and drift; undefined for one that is missing. */
  readonly late: number | undefined;
}

/** A pulse belongs to the nearest planned one, within this share of the least interval. */
const MINE = 0.4;
/** Half of the pulses are within this share of the least interval; with another rhythm they would be anywhere. */
const LIKE = 0.1;
/**
 * The line is drawn again, so many times, by pulses that are near it alone: so many standard deviations, with less
 * weight the farther off (Tukey's biweight and its usual constant, from memory). Pulses that are late draw it to them
 * otherwise, and those in time would be called early.
 */
const STEADIED = 10;
const NEAR = 4.685;
/** A standard deviation of the median deviation, for a Gaussian. */
const DEVIATION = 1.4826;
/** Two machines' clocks differ by less than this, parts in a million (common practice, no source: 100). */
const MOST_DRIFT = 2000;
/** Pulses at the start of the recording by which starts are compared first, and those of them tried as each one. */
const HEARD = 48;
const TRIED = 12;
/** Starts that are worked out from all pulses, in so many rounds. */
const KEPT = 16;
const ROUNDS = 2;
/** So many recorded pulses for each that fits are another clock: among so many, some lie near any planned one. */
const MOST_EACH = 4;
/** A pulse so near the recording's ends may be cut by them, s. */
const EDGE = 0.005;
/** s: a plan that begins so near the start of the recording begins with it. */
const WITH_IT = 0.0001;
/** s: plan and recording round times by this. */
const ROUNDED = 0.00002;
/** Logarithm of the likelihood by which one start must be likelier than another: three standard errors. */
const LIKELIER = 4.5;

interface PlacedPlan {
  readonly start: number;
  readonly rate: number;
  readonly pairs: readonly PulsePair[];
  /** Planned pulses within the recording. */
  readonly within: readonly number[];
}

/**
 * Lines up pulses with a plan.
 * @param planned and `recorded` are times of rises, s, in order.
 * @param seconds how long the recording is.
 * @param isCut whether it begins within a pulse, so that the plan has begun before.
 * @returns undefined where fewer than half of the planned pulses within the recording find one, where the differences
 *   of these look random, or where more than four are recorded for each that finds one.
 */
export function alignedWith(
  planned: readonly number[],
  recorded: readonly number[],
  seconds: number,
  isCut = false,
): Alignment | undefined {
  const least = leastInterval(planned);
  const reach = MINE * least;
  const placed = startsFor(planned, recorded, { seconds, reach }).flatMap((start): PlacedPlan[] => {
    const found = lineFrom(planned, recorded, { start, reach });
    if (found === undefined) return [];
    const paired = new Set(found.pairs.map(([at]) => at));
    const within = planned.filter((at) => {
      const time = found.start + found.rate * at;
      return paired.has(at) || (time >= EDGE && time <= seconds - EDGE);
    });
    return [{ ...found, within }];
  });
  // Of how pulses scatter about the line, by the start that leaves the fewest over.
  const over = ({ pairs, within }: PlacedPlan): number =>
    within.length + recorded.length - 2 * pairs.length;
  const [first] = placed.toSorted((a, b) => over(a) - over(b) || typicalOff(a) - typicalOff(b));
  if (first === undefined) return undefined;
  const scale = ROUNDED + typicalOff(first);
  const cost = (one: PlacedPlan): number =>
    one.pairs.reduce(
      (sum, pair) => sum + Math.log1p((offOf(one, pair) / scale) ** 2),
      over(one) * Math.log1p((reach / scale) ** 2),
    );
  const costs = placed.map((one) => ({ ...one, cost: cost(one) }));
  const cheapest = costs.reduce((a, b) => (b.cost < a.cost ? b : a)).cost;
  // Of starts that fit as well: where the recording begins, or else the first planned pulse that it can be.
  const alike = costs.filter((one) => one.cost < cheapest + LIKELIER);
  const before = alike.filter(({ start }) => isCut && start < 0);
  const likely = (before.length > 0 ? before : alike).toSorted((a, b) => b.start - a.start);
  const begun = likely.find(({ start }) => Math.abs(start) <= WITH_IT);
  const taken = begun ?? (likely[0] as PlacedPlan);
  const { start, rate, pairs, within } = taken;
  if (pairs.length < within.length / 2 || typicalOff(taken) > LIKE * least) return undefined;
  if (recorded.length > MOST_EACH * pairs.length) return undefined;
  const others = likely.filter((one) => Math.abs(one.start - start) > reach);
  const timeOf = new Map(pairs);
  const heard = new Set(timeOf.values());
  return {
    start,
    drift: (rate - 1) * 1e6,
    asWell: begun === undefined && others[0] !== undefined ? start - others[0].start : undefined,
    pulses: within.map((at) => {
      const time = timeOf.get(at);
      return { planned: at, late: time === undefined ? undefined : time - start - rate * at };
    }),
    extra: recorded.filter((time) => !heard.has(time)),
  };
}

/** Starts by which the first recorded pulses fall on planned ones, the likeliest ones, s. */
function startsFor(
  planned: readonly number[],
  recorded: readonly number[],
  { seconds, reach }: { readonly seconds: number; readonly reach: number },
): readonly number[] {
  // From a later one on the plan would be over before the recording is.
  const latest = Math.max((planned.at(-1) ?? 0) - seconds, planned[TRIED - 1] ?? 0);
  const heard = recorded.slice(0, HEARD);
  const starts: { readonly start: number; readonly off: number }[] = [];
  for (const first of planned.filter((at) => at <= latest))
    for (const time of recorded.slice(0, TRIED)) {
      const start = time - first;
      let off = 0;
      for (const one of heard) off += Math.min(reach, nearestOff(planned, one - start));
      starts.push({ start, off });
    }
  // Those that differ by rounding alone are taken from the latest on.
  const grade = (off: number): number => Math.round(off / (ROUNDED * HEARD));
  starts.sort((a, b) => grade(a.off) - grade(b.off) || b.start - a.start);
  const kept: number[] = [];
  for (const { start } of starts) {
    if (kept.every((one) => Math.abs(one - start) > reach / 4)) kept.push(start);
    if (kept.length === KEPT) break;
  }
  return kept;
}

/** s from a time to the nearest in a list in order. */
function nearestOff(times: readonly number[], time: number): number {
  let from = 0;
  let to = times.length;
  while (from < to) {
    const middle = (from + to) >> 1;
    if ((times[middle] as number) < time) from = middle + 1;
    else to = middle;
  }
  const [before, after] = [times[from - 1], times[from]];
  return Math.min(
    before === undefined ? Number.POSITIVE_INFINITY : time - before,
    after === undefined ? Number.POSITIVE_INFINITY : after - time,
  );
}

function lineFrom(
  planned: readonly number[],
  recorded: readonly number[],
  begin: { readonly start: number; readonly reach: number },
): Pick<PlacedPlan, 'start' | 'rate' | 'pairs'> | undefined {
  let line = { start: begin.start, rate: 1 };
  const { reach } = begin;
  // Of ever more pulses: over a long recording a drift goes beyond the reach.
  for (let count = HEARD; ; count *= 2) {
    const heard = count < recorded.length ? recorded.slice(0, count) : recorded;
    for (let round = 0; round < ROUNDS; round++) {
      const next = lineOf(pairsOf(planned, heard, { ...line, reach }));
      if (next === undefined) return undefined;
      line = next;
    }
    if (heard === recorded) break;
  }
  const pairs = pairsOf(planned, recorded, { ...line, reach });
  for (let round = 0; round < STEADIED; round++) {
    const offs = pairs.map((pair) => offOf(line, pair));
    const farthest = NEAR * (ROUNDED + DEVIATION * median(offs.map(Math.abs)));
    const weights = offs.map((off) => Math.max(0, 1 - (off / farthest) ** 2) ** 2);
    line = lineOf(pairs, weights) ?? line;
  }
  if (Math.abs(line.rate - 1) > MOST_DRIFT * 1e-6) return undefined;
  return { ...line, pairs: pairsOf(planned, recorded, { ...line, reach }) };
}

function offOf({ start, rate }: Pick<PlacedPlan, 'start' | 'rate'>, [at, time]: PulsePair): number {
  return time - start - rate * at;
}

function typicalOff(placed: PlacedPlan): number {
  return median(placed.pairs.map((pair) => Math.abs(offOf(placed, pair))));
}

type PulsePair = readonly [planned: number, recorded: number];

/** Each planned pulse with the nearest recorded one, no recorded one twice. */
function pairsOf(
  planned: readonly number[],
  recorded: readonly number[],
  { start, rate, reach }: { readonly start: number; readonly rate: number; readonly reach: number },
): readonly PulsePair[] {
  const pairs: PulsePair[] = [];
  let next = 0;
  for (const at of planned) {
    const due = start + rate * at;
    while (next < recorded.length && (recorded[next] as number) < due - reach) next += 1;
    if (next === recorded.length) break;
    let nearest = next;
    while (
      nearest + 1 < recorded.length &&
      Math.abs((recorded[nearest + 1] as number) - due) <
        Math.abs((recorded[nearest] as number) - due)
    )
      nearest += 1;
    const time = recorded[nearest];
    if (time === undefined || Math.abs(time - due) > reach) continue;
    pairs.push([at, time]);
    next = nearest + 1;
  }
  return pairs;
}

/** Start and rate by least squares; of few pulses the start alone. */
function lineOf(
  pairs: readonly PulsePair[],
  weights: readonly number[] = pairs.map(() => 1),
): { start: number; rate: number } | undefined {
  const count = pairs.length;
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  if (all === 0) return undefined;
  const [x, y] = [0, 1].map(
    (side) =>
      pairs.reduce((sum, pair, n) => sum + (weights[n] as number) * (pair[side] as number), 0) /
      all,
  ) as [number, number];
  let xx = 0;
  let xy = 0;
  for (const [n, [at, time]] of pairs.entries()) {
    const weight = weights[n] as number;
    xx += weight * (at - x) ** 2;
    xy += weight * (at - x) * (time - y);
  }
  const rate = count < 4 || xx === 0 ? 1 : xy / xx;
  return { start: y - rate * x, rate };
}

function leastInterval(times: readonly number[]): number {
  let least = Number.POSITIVE_INFINITY;
  for (let n = 1; n < times.length; n++)
    least = Math.min(least, (times[n] as number) - (times[n - 1] as number));
  return Number.isFinite(least) ? least : 1;
}
