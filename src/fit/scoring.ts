/**
 * Moves a few settings together to where a recording is likeliest. How each changes the logarithm of every power tells
 * what they change together, and so which step undoes the differences from the recording. Slopes are measured by a try
 * of each setting, and corrected by what each step has changed. Source: Fisher's method of scoring (from memory), for
 * powers as `whittle` has them; the damping and the corrections as in `descend`.
 */

import { eliminate } from '../measure/hits/decay-model.ts';
import { largest } from '../modules/dsp/extremes.ts';
import { correctSlopes, type Probing, probesFrom } from './descend.ts';
import type { BestPlace, Bounds } from './search.ts';
import { strides } from './strides.ts';
import { commonLevel } from './whittle.ts';

/** A place, and how the powers there differ from the recording's. */
export interface Scored extends BestPlace {
  /** As `powerLogs` has them. */
  readonly logs: Float64Array;
}

export interface Scoring {
  readonly bounds: readonly Bounds[];
  /** How many independent values each power is the mean of. */
  readonly values: Float64Array;
  readonly scoredAt: (place: readonly number[]) => Promise<Scored>;
  /** How unlikely the recording is by one draw of the render's noise. */
  readonly glanceAt: (place: readonly number[]) => Promise<number>;
  /** Says which places come next, in this order, each with all its draws unless told. */
  readonly prepare: (places: readonly (readonly number[])[], draws?: number) => void;
  /** A gain of less, in nepers, is none. */
  readonly enough: number;
  /** Once true, the search ends with the best so far. */
  readonly isOver: () => boolean;
}

/** How each logarithm changes with each setting, whose coordinate is the key. */
export type Slopes = ReadonlyMap<number, Float64Array>;

/** The end of the search, and the last slopes near it. */
export interface Likeliest {
  readonly found: Scored;
  readonly slopes: Slopes;
}

/** Steps that find slopes: those of the first round, and of the later ones. */
const PROBES = { first: 0.06, later: 0.03 };
/** The longest step of one setting. */
const MOST_STEP = 0.5;
/** The damping: its start, the factors of its changes, and its limits. */
const DAMPING = { first: 0.01, less: 0.2, more: 8, least: 1e-4, most: 100 };
/** How many strides are looked at with all draws. */
const GLANCED = 3;
/** A setting that powers tell nothing of stays where it is: it counts as known to a factor of e. */
const KNOWN = 1;

/** Searches from a place, until strides from where that ends lead nowhere likelier. */
export async function likeliest(
  scoring: Scoring,
  from: Scored,
  axes: readonly number[],
): Promise<Likeliest> {
  const { bounds, isOver } = scoring;
  let best = from;
  let slopes: Slopes = new Map();
  for (let round = 0; !isOver(); round++) {
    const start = best;
    const probe = round === 0 ? PROBES.first : round % 2 === 0 ? PROBES.later : -PROBES.later;
    const measured = await slopesAt(scoring, start, { axes, probe });
    // Where it ends before all are measured, those of the round before tell more.
    if (measured.slopes.size >= slopes.size) slopes = measured.slopes;
    const stepped = await steppedFrom(scoring, start, slopes);
    best = likelier(likelier(best, measured.least), stepped);
    if (round === 0 || start.value - best.value >= scoring.enough) continue;
    const rest = best;
    const { matrix } = informationOf(scoring.values, rest.logs, slopes);
    const places = strides({ place: rest.place, bounds, free: [...slopes.keys()], matrix });
    for (const place of await glanced(scoring, places)) {
      if (isOver()) break;
      scoring.prepare([place]);
      best = likelier(best, await scoring.scoredAt(place));
    }
    if (rest.value - best.value < scoring.enough) break;
  }
  return { found: best, slopes };
}

/** The places that are the likeliest by one draw of noise. */
async function glanced(
  { glanceAt, prepare, isOver }: Scoring,
  places: readonly (readonly number[])[],
): Promise<readonly (readonly number[])[]> {
  prepare(places, 1);
  const seen: BestPlace[] = [];
  for (const place of places) {
    if (isOver()) break;
    seen.push({ place, value: await glanceAt(place) });
  }
  const best = seen.toSorted((a, b) => a.value - b.value).slice(0, GLANCED);
  return best.map(({ place }) => place);
}

function likelier(one: Scored, other: Scored): Scored {
  return other.value < one.value ? other : one;
}

/** Finds how each setting changes the powers, by a try of each; and the likeliest of these. */
export async function slopesAt(
  { bounds, scoredAt, prepare, isOver }: Scoring,
  start: Scored,
  { axes, probe }: Probing,
): Promise<{ readonly slopes: Slopes; readonly least: Scored }> {
  const slopes = new Map<number, Float64Array>();
  let least = start;
  const probes = probesFrom(start.place, { bounds, axes, probe });
  prepare(probes.map(({ place }) => place));
  for (const { axis, place } of probes) {
    if (isOver()) break;
    const change = (place[axis] as number) - (start.place[axis] as number);
    if (change === 0) continue;
    const moved = await scoredAt(place);
    least = likelier(least, moved);
    const slope = start.logs.map((own, k) => ((moved.logs[k] as number) - own) / change);
    slopes.set(
      axis,
      slope.map((one) => (Number.isFinite(one) ? one : 0)),
    );
  }
  return { slopes, least };
}

/** As many steps as gain something; the slopes are corrected by each. */
async function steppedFrom(
  { bounds, values, enough, scoredAt, prepare, isOver }: Scoring,
  start: Scored,
  slopes: Slopes,
): Promise<Scored> {
  let last = start;
  let damping = DAMPING.first;
  const stepped = async (): Promise<Scored | undefined> => {
    const information = informationOf(values, last.logs, slopes);
    for (; damping <= DAMPING.most && !isOver(); damping *= DAMPING.more) {
      const place = steppedPlace(last.place, { ...information, slopes, bounds, damping });
      prepare([place]);
      const next = await scoredAt(place);
      if (!(next.value < last.value)) continue;
      damping = Math.max(DAMPING.least, damping * DAMPING.less);
      return next;
    }
    return undefined;
  };
  while (!isOver()) {
    const next = await stepped();
    if (next === undefined) break;
    const moves = [...slopes.keys()].map(
      (axis) => (next.place[axis] as number) - (last.place[axis] as number),
    );
    correctSlopes([...slopes.values()], moves, { from: last.logs, to: next.logs });
    const gain = last.value - next.value;
    last = next;
    if (gain < enough) break;
  }
  return last;
}

interface DampedStep extends Information {
  readonly slopes: Slopes;
  readonly bounds: readonly Bounds[];
  readonly damping?: number;
}

/** Where a step leads, of which none is longer than {@link MOST_STEP}. */
export function steppedPlace(
  place: readonly number[],
  { slopes, bounds, ...step }: DampedStep,
): readonly number[] {
  const steps = undoingSteps(step, KNOWN);
  const longest = largest(steps.map(Math.abs));
  const scale = Number.isFinite(longest) ? Math.min(1, MOST_STEP / Math.max(1e-12, longest)) : 0;
  return [...slopes.keys()].reduce((moved, axis, index) => {
    const { low, high } = bounds[axis] as Bounds;
    const by = scale === 0 ? 0 : scale * (steps[index] as number);
    return moved.with(axis, Math.min(high, Math.max(low, (place[axis] as number) + by)));
  }, place);
}

/**
 * The step of each setting that undoes the differences.
 * @param known what is known of each besides, in the unit of the matrix.
 */
export function undoingSteps(
  { matrix, pull, damping = 0 }: Information & { readonly damping?: number },
  known = 0,
): readonly number[] {
  return eliminate(
    matrix.map((row, k) => row.map((one, j) => (j === k ? one * (1 + damping) + known : one))),
    pull.slice(),
  );
}

/** What powers tell of settings. */
export interface Information {
  /** Fisher's: by how much a recording would be unlikelier, twice, by the product of the moves of two settings. */
  readonly matrix: readonly Float64Array[];
  /** How fast it gets likelier with each. */
  readonly pull: Float64Array;
}

/** @param values how many independent ones each power is the mean of. */
export function informationOf(
  values: Float64Array,
  logs: Float64Array,
  slopes: Slopes,
): Information {
  const { whole, level } = commonLevel(logs, values);
  // Powers that neither sound has tell nothing. The level is free: what all have in common tells nothing either.
  const told = values.map((own, k) => (Number.isNaN(logs[k]) ? 0 : own));
  const centred = [...slopes.values()].map((slope) => {
    let sum = 0;
    for (let k = 0; k < told.length; k++) sum += (told[k] as number) * (slope[k] as number);
    return slope.map((one) => one - sum / whole);
  });
  const matrix = centred.map(() => new Float64Array(centred.length));
  const pull = new Float64Array(centred.length);
  centred.forEach((own, j) => {
    for (let i = 0; i <= j; i++) {
      const other = centred[i] as Float64Array;
      let sum = 0;
      for (let k = 0; k < told.length; k++)
        sum += (told[k] as number) * (own[k] as number) * (other[k] as number);
      (matrix[j] as Float64Array)[i] = sum;
      (matrix[i] as Float64Array)[j] = sum;
    }
    for (let k = 0; k < told.length; k++) {
      if (told[k] === 0) continue;
      const excess = Math.exp((logs[k] as number) - level) - 1;
      pull[j] = (pull[j] as number) - (told[k] as number) * (own[k] as number) * excess;
    }
  });
  return { matrix, pull };
}
