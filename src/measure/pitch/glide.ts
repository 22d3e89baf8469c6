/**
 * The course of a pitch, from the moments at which the wave crosses zero.
 *
 * Model: octaves above the final pitch fall exponentially, f(t) = f_end 2^(v exp(-t/tau)), which is
 * what a volt-per-octave oscillator does under a decaying control voltage.
 */

import { lowestAt } from '../golden-section.ts';

export interface PitchCycle {
  /** The middle of the cycle, s, and its frequency. */
  readonly time: number;
  readonly hz: number;
  /** Its amplitude. */
  readonly size: number;
}

export interface Glide {
  /** Pitch at time 0, and in the end: at the last cycle. */
  readonly startHz: number;
  readonly endHz: number;
  /** Time constant of the fall in octaves, s; null for a steady pitch. */
  readonly tau: number | null;
  /** Root mean square difference of the cycles from the model, octaves. */
  readonly residual: number;
}

/**
 * Cuts a wave into cycles, each from a zero crossing to the next but one.
 * @param threshold a crossing counts once the wave has gone this far to either side.
 */
export function cyclesOf(
  samples: Float64Array,
  sampleRate: number,
  threshold: number,
): PitchCycle[] {
  const crossings: { at: number; size: number }[] = [];
  let side = 0;
  let crossed = 0;
  let size = 0;
  let before = 0;
  for (let n = 0; n < samples.length; n++) {
    const here = samples[n] as number;
    if (n > 0 && here > 0 !== before > 0) crossed = n - 1 + before / (before - here);
    const magnitude = here < 0 ? -here : here;
    const newSide = here > 0 ? 1 : -1;
    if (magnitude > threshold && newSide !== side) {
      if (side !== 0) crossings.push({ at: crossed / sampleRate, size });
      side = newSide;
      size = 0;
    }
    if (newSide === side && magnitude > size) size = magnitude;
    before = here;
  }
  return crossings.slice(2).map((last, i) => {
    const first = crossings[i] as { at: number };
    const middle = crossings[i + 1] as { at: number };
    return { time: middle.at, hz: 1 / (last.at - first.at), size: last.size };
  });
}

const FASTEST = 0.003;
const SLOWEST = 0.4;
const STEPS = 16;
const ROUNDS = 16;
/** A fall explains so much more than a steady pitch before it is believed: squared residuals. */
const WORTH_A_FALL = 3;
/** ... and the best of the coarse steps may miss that by this much. */
const WORTH_REFINING = 2;
const LEAST_OCTAVES = 0.02;
/** The start is extrapolated from the first cycle by at most this, octaves: further would be a guess. */
const DRAWN_OUT = 1;
/** The visible cycles cover at least this share of the whole fall. */
const SEEN = 0.3;

/**
 * Fits the model to at least three cycles.
 * @param threshold amplitude at which a crossing is only half sure.
 */
export function fitGlide(cycles: readonly PitchCycle[], threshold: number): Glide {
  const points: PitchPoints = {
    time: Float64Array.from(cycles, ({ time }) => time),
    octave: Float64Array.from(cycles, ({ hz }) => Math.log2(hz)),
    weight: Float64Array.from(
      cycles,
      ({ size }) => 1 / (1 + (threshold / Math.max(size, 1e-12)) ** 2),
    ),
    shape: new Float64Array(cycles.length),
  };
  const end = (cycles[cycles.length - 1] as PitchCycle).time;
  const steady = regress(points);
  let best = steady;
  let tau: number | null = null;
  if (cycles.length >= 5) {
    const cost = (t: number) => {
      const { time, shape } = points;
      for (let i = 0; i < time.length; i++) shape[i] = Math.exp(-(time[i] as number) / t);
      return regress(points);
    };
    const ratio = (SLOWEST / FASTEST) ** (1 / STEPS);
    let t = FASTEST;
    for (let i = 0; i <= STEPS; i++, t *= ratio) {
      const here = cost(t);
      if (here.squares < best.squares) {
        best = here;
        tau = t;
      }
    }
    // No finer step would make so weak an explanation acceptable.
    if (tau !== null && best.squares * WORTH_A_FALL < WORTH_REFINING * steady.squares) {
      tau = lowestAt((candidate) => cost(candidate).squares, tau / ratio, tau * ratio, ROUNDS);
      best = cost(tau);
    }
  }
  const [{ time: first }] = cycles as [PitchCycle];
  const isFall =
    tau !== null &&
    best.squares * WORTH_A_FALL < steady.squares &&
    Math.abs(best.slope) * (1 - Math.exp(-end / tau)) > LEAST_OCTAVES &&
    Math.exp(-first / tau) > SEEN &&
    Math.abs(best.slope) * (1 - Math.exp(-first / tau)) < DRAWN_OUT;
  const model = isFall ? best : steady;
  const octaveAt = (time: number) =>
    model.level + (isFall && tau !== null ? model.slope * Math.exp(-time / tau) : 0);
  return {
    startHz: 2 ** octaveAt(0),
    endHz: 2 ** octaveAt(end),
    tau: isFall ? tau : null,
    residual: Math.sqrt(model.squares / model.weight),
  };
}

interface PitchPoints {
  readonly time: Float64Array;
  readonly octave: Float64Array;
  readonly weight: Float64Array;
  /** exp(-time/tau) for the tau that is tried; 0 for a steady pitch. */
  readonly shape: Float64Array;
}

/** Weighted least squares of octave = level + slope x shape. */
function regress({ octave, weight, shape }: PitchPoints) {
  let w = 0;
  let s = 0;
  let ss = 0;
  let y = 0;
  let sy = 0;
  for (let i = 0; i < octave.length; i++) {
    const value = shape[i] as number;
    const share = weight[i] as number;
    const height = octave[i] as number;
    w += share;
    s += share * value;
    ss += share * value * value;
    y += share * height;
    sy += share * value * height;
  }
  const determinant = w * ss - s * s;
  const slope = determinant > 1e-12 * w * ss ? (w * sy - s * y) / determinant : 0;
  const level = (y - slope * s) / w;
  let squares = 0;
  for (let i = 0; i < octave.length; i++) {
    const off = (octave[i] as number) - level - slope * (shape[i] as number);
    squares += (weight[i] as number) * off * off;
  }
  return { level, slope, squares, weight: w };
}
