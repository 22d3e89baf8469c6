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
/** Two machines' clocks differ by less than this, parts in a million (common practice, no source: 100). */
const MOST_DRIFT = 2000;
/** Starts that are tried: each of so many first pulses of the plan at each of so many of the recording's. */
const TRIED = 12;
const ROUNDS = 4;
/** A pulse so near the recording's ends may be cut by them, s. */
const EDGE = 0.005;

/**
 * Lines up pulses with a plan.
 * @param planned and `recorded` are times of rises, s, in order.
 * @param seconds how long the recording is.
 * @returns undefined where fewer than half of the planned pulses within the recording find one, or where the
 *   differences of these look random.
 */
export function alignedWith(
  planned: readonly number[],
  recorded: readonly number[],
  seconds: number,
): Alignment | undefined {
  const reach = MINE * leastInterval(planned);
  let best: { start: number; rate: number; found: number; off: number } | undefined;
  for (const first of planned.slice(0, TRIED))
    for (const heard of recorded.slice(0, TRIED)) {
      let [start, rate] = [heard - first, 1];
      for (let round = 0; round < ROUNDS; round++) {
        const pairs = pairsOf(planned, recorded, { start, rate, reach });
        const line = lineOf(pairs);
        if (line === undefined) break;
        ({ start, rate } = line);
      }
      if (Math.abs(rate - 1) > MOST_DRIFT * 1e-6) continue;
      const pairs = pairsOf(planned, recorded, { start, rate, reach });
      const off = median(pairs.map(([at, time]) => Math.abs(time - start - rate * at)));
      const found = pairs.length;
      if (best === undefined || found > best.found || (found === best.found && off < best.off))
        best = { start, rate, found, off };
    }
  if (best === undefined) return undefined;
  const { start, rate } = best;
  const pairs = new Map(pairsOf(planned, recorded, { start, rate, reach }));
  const within = planned.filter((at) => {
    const time = start + rate * at;
    return pairs.has(at) || (time >= EDGE && time <= seconds - EDGE);
  });
  if (best.found < within.length / 2 || best.off > LIKE * (reach / MINE)) return undefined;
  const taken = new Set(pairs.values());
  return {
    start,
    drift: (rate - 1) * 1e6,
    pulses: within.map((at) => {
      const time = pairs.get(at);
      return { planned: at, late: time === undefined ? undefined : time - start - rate * at };
    }),
    extra: recorded.filter((time) => !taken.has(time)),
  };
}

type Pair = readonly [planned: number, recorded: number];

/** Each planned pulse with the nearest recorded one, no recorded one twice. */
function pairsOf(
  planned: readonly number[],
  recorded: readonly number[],
  { start, rate, reach }: { readonly start: number; readonly rate: number; readonly reach: number },
): readonly Pair[] {
  const pairs: Pair[] = [];
  let next = 0;
  for (const at of planned) {
    const due = start + rate * at;
    while (next < recorded.length && (recorded[next] as number) < due - reach) next += 1;
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
function lineOf(pairs: readonly Pair[]): { start: number; rate: number } | undefined {
  const count = pairs.length;
  if (count === 0) return undefined;
  const [x, y] = [0, 1].map(
    (side) => pairs.reduce((sum, pair) => sum + (pair[side] as number), 0) / count,
  ) as [number, number];
  let [xx, xy] = [0, 0];
  for (const [at, time] of pairs) {
    xx += (at - x) ** 2;
    xy += (at - x) * (time - y);
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
