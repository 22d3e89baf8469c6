/**
 * The strokes heard in a recording, one by one: grace strokes hidden in a hit too, but of several only the nearest, and
 * which of them follow one another too quickly for steps of their own.
 */

export interface HeardHit {
  /** s. */
  readonly time: number;
  readonly peakDbfs: number;
  /**
   * Present if it is two strokes: the time of the main one, how long before it the other is, s, and how much
   * softer, dB.
   */
  readonly flam?: {
    readonly time: number;
    readonly seconds: number;
    readonly softerDb: number;
  } | null;
  /** Present if it is the last heard of a main stroke and several grace strokes before it. */
  readonly drag?: {
    readonly time: number;
    readonly graces: readonly { readonly seconds: number; readonly softerDb: number }[];
  } | null;
  /** Present if it is the first of equal strokes, so many s apart, of which some were not heard. */
  readonly ratchet?: {
    readonly time: number;
    readonly strokes: number;
    readonly seconds: number;
  } | null;
}

/** A stroke by itself. */
export interface LoneStroke extends HeardHit {
  /** Of one of several equal strokes that follow one another evenly: how far apart they are, s. */
  readonly apart?: number;
}

/** Strokes this near are the same stroke, s. */
const SAME = 0.004;
/** A grace stroke comes at most this long before the next stroke: s, and quarter notes, less than any step. */
const LONGEST = 0.09;
const LONGEST_QUARTERS = 0.13;
/** A grace stroke this far ahead, s, belongs to a ruff whose other strokes were not heard: no flam is so slow. */
const FAR = 0.06;
/** Strokes nearer than this, s, are the hands of a clap, any of which may be the loudest, or one flam. */
const NEAREST = 0.015;
/** How much softer than the main stroke each is at least, dB, and how much their distances may differ, as a ratio. */
const SOFTER_DB = 1.5;
const UNEVEN = 1.5;
/** The most grace strokes of a stroke: a ruff has three. */
const MOST = 3;

/**
 * @param strokes by time.
 * @param bpm quarter notes a minute.
 * @returns the strokes, but of several grace strokes only the last; and the times of the others, s.
 */
export function withoutDrags(
  strokes: readonly LoneStroke[],
  bpm: number,
): { readonly hits: readonly LoneStroke[]; readonly left: readonly number[] } {
  const longest = Math.min(LONGEST, (LONGEST_QUARTERS * 60) / bpm);
  const hits: LoneStroke[] = [];
  const left: number[] = [];
  for (let n = 0; n < strokes.length; n++) {
    const main = mainOf(strokes, n, longest);
    for (; n < main; n++) {
      const { time } = strokes[n] as LoneStroke;
      const isNearest = n === main - 1 && (strokes[main] as LoneStroke).time - time <= FAR;
      if (isNearest) hits.push(strokes[n] as LoneStroke);
      else left.push(time);
    }
    hits.push(strokes[main] as LoneStroke);
  }
  return { hits, left };
}

/** Each stroke by itself, also those that were heard as one hit. */
export function strokesHeard(heard: readonly HeardHit[]): readonly LoneStroke[] {
  const strokes: LoneStroke[] = [];
  for (const { time, peakDbfs, flam = null, drag = null, ratchet = null } of heard) {
    const main = drag ?? flam;
    for (let n = 1; n < (ratchet?.strokes ?? 0); n++) {
      const at = time + n * (ratchet?.seconds ?? 0);
      if (heard.every((other) => Math.abs(other.time - at) >= SAME))
        strokes.push({ time: at, peakDbfs });
    }
    if (main === null) {
      strokes.push({ time, peakDbfs });
      continue;
    }
    for (const { seconds, softerDb } of drag?.graces ?? (flam === null ? [] : [flam])) {
      const grace = { time: main.time - seconds, peakDbfs: peakDbfs - softerDb };
      // The drum still rings under a grace stroke, so that one heard by itself may seem as loud as the main one.
      const same = strokes.findLastIndex(({ time }) => Math.abs(time - grace.time) < SAME);
      if (same >= 0) strokes.splice(same, 1);
      strokes.push(grace);
    }
    strokes.push({ time: main.time, peakDbfs });
  }
  return strokes.sort((a, b) => a.time - b.time);
}

/**
 * Index of the main stroke to which the strokes from `n` on are grace strokes; `n` if it is not a grace stroke.
 * @param longest s.
 */
function mainOf(strokes: readonly LoneStroke[], n: number, longest: number): number {
  const { time, peakDbfs } = strokes[n] as LoneStroke;
  let loudest = peakDbfs;
  let main = n;
  let least = longest;
  let most = 0;
  for (let m = n + 1; m <= n + MOST; m++) {
    const [before, here] = [strokes[m - 1], strokes[m]];
    if (before === undefined || here === undefined) break;
    if (before.apart !== undefined || here.apart !== undefined) break;
    const apart = here.time - before.time;
    least = Math.min(least, apart);
    most = Math.max(most, apart);
    if (apart > longest || apart < NEAREST || most > UNEVEN * least) break;
    if (here.peakDbfs >= loudest + SOFTER_DB) main = m;
    loudest = Math.max(loudest, here.peakDbfs);
  }
  // If a stroke comes before them at the same distance, all are a roll.
  const [earlier, later] = [strokes[n - 1], strokes[n + 1]];
  if (earlier === undefined || later === undefined) return main;
  return time - earlier.time <= UNEVEN * (later.time - time) ? n : main;
}
