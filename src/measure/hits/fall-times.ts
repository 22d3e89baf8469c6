/** When a hit has fallen by 20, 40 and 60 dB under its loudest: its length as an ear hears it. */

import { type Estimate, none, reliabilityOf } from '../estimate.ts';
import type { FallEnvelope } from './fall-envelope.ts';

/** From the loudest moment to the level, s. */
export interface FallTimes {
  readonly down20: Estimate;
  readonly down40: Estimate;
  readonly down60: Estimate;
}

/** The level must fall on by this after it, dB: the end of a recording, or its floor, does not count as a fall. */
const BEYOND_DB = 3;
/** How far both levels waver, in root mean squares; and how much a window lowers a peak, as a share of its length. */
const WAVERS = 3;
const ROUNDED = 0.2;
/** Of a moment that may be the first or the last of a stretch: one standard deviation, as a share of it. */
const SPREAD = 0.5;
/** A level can be met only where the floor is under this share of it. */
const UNDER = 0.5;

/**
 * Measures the fall of a hit's level.
 * @param waveringDb by how much the level wavers about its fall, root mean square.
 * @param isClipped whether its peak is cut flat.
 */
export function fallTimes(
  envelope: FallEnvelope,
  waveringDb: number,
  isClipped: boolean,
): FallTimes {
  const { power, step, floor, least, window, top, lostDb } = envelope;
  const peak = (power[0] ?? 0) - floor;
  const down = (db: number): Estimate => {
    if (!(peak > 0)) return none('silent');
    const level = peak * 10 ** (-db / 10);
    const first = reaches(power, 0, level + floor);
    const beyond = reaches(power, first, level * 10 ** (-BEYOND_DB / 10) + floor);
    if (Math.max(floor, least) > UNDER * level) return none('noise-floor');
    if (beyond === power.length) return none('cut-short');
    const last = lastAbove(power, beyond, level + floor) ?? first;
    const value = ((first + last) / 2) * step;
    // A level that wavers is met earlier or later, by the time in which it falls as far as it wavers; and so is
    // the loudest.
    const perDb = ((beyond - first) * step) / BEYOND_DB;
    const wavers = (WAVERS * waveringDb + lostDb) * perDb;
    const rounded = ROUNDED * window;
    // A straight fall takes as long for the decibel in which any point might be the loudest.
    const loudest = SPREAD * Math.max(0, top - value / db);
    const error =
      Math.hypot((last - first) * step, wavers, rounded, loudest, step) / Math.max(value, step);
    const reliability = (isClipped ? 0.5 : 1) * reliabilityOf(error);
    return { value, reliability, reason: isClipped ? 'clipped' : null };
  };
  return { down20: down(20), down40: down(40), down60: down(60) };
}

/** The first point from `from` on that is no louder; the length if none is. */
function reaches(power: Float64Array, from: number, level: number): number {
  let at = from;
  while (at < power.length && (power[at] as number) > level) at++;
  return at;
}

/** The last point that is louder again; beyond twice the time it is another sound. */
function lastAbove(power: Float64Array, from: number, level: number): number | null {
  for (let at = Math.min(power.length, 2 * from) - 1; at > from; at--) {
    if ((power[at] as number) > level) return at;
  }
  return null;
}
