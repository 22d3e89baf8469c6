/** The decay of one hit: its time constant and 60 dB time, with a window fit for the sound. */

import type { Estimate, Reason } from '../estimate.ts';
import { envelope } from './envelope.ts';
import { type DecayFit, fitDecay } from './envelope-fit.ts';

export interface Stretch {
  readonly sampleRate: number;
  /** The first sample of the hit, and the sample after its last. */
  readonly onset: number;
  readonly end: number;
  /** The lowest frequency that matters in it, Hz. */
  readonly lowHz: number;
  /** Mean square of what is there without it; 0 for not known. */
  readonly floor: number;
}

export interface Decay {
  /** Time constant of the amplitude, s. */
  readonly tau: Estimate;
  /** The time of a fall by 60 dB, s: tau ln 1000. */
  readonly t60: Estimate;
  readonly fit: DecayFit | null;
}

const SHORTEST_WINDOW = 0.0005;
const FIRST_WINDOW = 0.004;
const LONGEST_WINDOW = 0.06;
const FIRST_POINTS = 40;
const POINTS = 120;
/** A standard error of this share makes a value half reliable. */
const HALF_RELIABLE = 0.1;
const LN_1000 = Math.log(1000);

/**
 * Measures the decay of a hit.
 * @param samples the hit without offset, with what surrounds it.
 * @param clippedUntil the sample after the last flat top; `onset` if nothing is clipped.
 */
export function measureDecay(samples: Float64Array, stretch: Stretch, clippedUntil: number): Decay {
  const lowWindow = Math.min(LONGEST_WINDOW, 1 / stretch.lowHz);
  const coarse = fitWith(samples, stretch, clippedUntil, {
    window: Math.max(FIRST_WINDOW, lowWindow),
    points: FIRST_POINTS,
  });
  // A window of a third of the time constant averages most without hiding the start.
  const tau = typeof coarse === 'string' ? SHORTEST_WINDOW : coarse.tau;
  const window = Math.max(SHORTEST_WINDOW, lowWindow, Math.min(tau / 3, LONGEST_WINDOW));
  const fine = fitWith(samples, near(stretch, coarse, window), clippedUntil, {
    window,
    points: POINTS,
  });
  const fit = typeof fine === 'string' && typeof coarse !== 'string' ? coarse : fine;
  if (typeof fit === 'string') return nothing(fit);
  const reliability =
    (1 / (1 + (fit.error / HALF_RELIABLE) ** 2)) * (fit.reason === 'not-exponential' ? 0.5 : 1);
  const reason = fit.reason ?? (clippedUntil > stretch.onset ? 'clipped' : null);
  return {
    tau: { value: fit.tau, reliability, reason },
    t60: { value: fit.tau * LN_1000, reliability, reason },
    fit,
  };
}

/** The part of a stretch that the coarse fit used, and a little more. */
function near(stretch: Stretch, coarse: DecayFit | Reason, window: number): Stretch {
  if (typeof coarse === 'string') return stretch;
  const { onset, sampleRate } = stretch;
  const seconds = 1.2 * (coarse.end - onset / sampleRate) + window;
  return { ...stretch, end: Math.min(stretch.end, onset + Math.ceil(seconds * sampleRate)) };
}

function nothing(reason: Reason): Decay {
  const estimate = { value: null, reliability: 0, reason };
  return { tau: estimate, t60: estimate, fit: null };
}

function fitWith(
  samples: Float64Array,
  { onset, end, sampleRate, floor }: Stretch,
  clippedUntil: number,
  { window, points }: { window: number; points: number },
): DecayFit | Reason {
  const curve = envelope(samples, { from: onset, to: end, sampleRate, window });
  let loudest = 0;
  for (let i = 1; i < curve.power.length; i++) {
    if ((curve.power[i] as number) > (curve.power[loudest] as number)) loudest = i;
  }
  if (!((curve.power[loudest] ?? 0) > 0)) return curve.power.length === 0 ? 'too-short' : 'silent';
  // The first point knows nothing but the fall if the hit starts at its loudest.
  const risen = loudest === 0 ? curve.start : curve.start + loudest * curve.step + curve.window / 2;
  const unclipped =
    clippedUntil > onset ? clippedUntil / sampleRate + curve.window / 2 : curve.start;
  return fitDecay(curve, Math.max(risen, unclipped), floor, points);
}
