/** The decay of one hit: its time constant and 60 dB time, with a window fit for the sound. */

import { type Estimate, type Reason, reliabilityOf } from '../estimate.ts';
import { powerEnvelope } from './envelope.ts';
import { type DecayFit, fitDecay, steadyFloor } from './envelope-fit.ts';

export interface HitStretch {
  readonly sampleRate: number;
  /** The first sample of the hit, and the sample after its last. */
  readonly onset: number;
  readonly end: number;
  /** The lowest frequency that matters in the sound, Hz. */
  readonly lowHz: number;
  /** Mean square of the recording without the hit; 0 for not known. */
  readonly floor: number;
  /** The largest value that hiss, hum or another sound reaches just before the hit; 0 for none. */
  readonly before: number;
  /** The step from one value to the next that its samples can have; 0 for none. */
  readonly step: number;
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
/** A hit is heard until it has fallen by this, dB, or to its floor. */
export const HEARD_DB = 30;
/** The first 30 dB and the whole differ by more than this share where a fall is not a straight line. */
const BENT = 0.08;
/** ... and where the loudest point lies this far above the line, dB, more than chance explains. */
const MISSED_DB = 3;
/** A floor of less power than this, in squared steps, shows the steps of the samples where the sound is soft. */
const DITHERED = 0.125;
/** ... and from this on they hardly matter. */
const SMOOTH = 4;
/** A standard error above this share makes a value a guess, which is left out. */
const GUESS = 0.3;
/** A sound that does not fall may still fall later if it is shorter than this, s. */
const STEADY_FOR = 0.1;
const LN_1000 = Math.log(1000);

/**
 * Measures the decay of a hit: that of its first 30 dB, as the reverberation times of ISO 3382-1 are of about the
 * first 30 dB (from memory), since little of the rest is heard. Where the fall is straight all of it is used, which
 * is more exact.
 * @param samples the hit without offset, with the samples around it.
 * @param clippedUntil the sample after the last flat top; `onset` if nothing is clipped.
 */
export function measureDecay(
  samples: Float64Array,
  stretch: HitStretch,
  clippedUntil: number,
): Decay {
  const lowWindow = Math.min(LONGEST_WINDOW, 1 / stretch.lowHz);
  const coarse = fitWith(samples, stretch, clippedUntil, {
    window: Math.max(FIRST_WINDOW, lowWindow),
    points: FIRST_POINTS,
  });
  // A window of a third of the time constant averages as much as possible without hiding the start.
  const tau = coarse.heard?.tau ?? SHORTEST_WINDOW;
  const window = Math.max(SHORTEST_WINDOW, lowWindow, Math.min(tau / 3, LONGEST_WINDOW));
  const fine = fitWith(samples, near(stretch, coarse, window), clippedUntil, {
    window,
    points: POINTS,
  });
  const { whole, heard } = fine.heard === null && coarse.heard !== null ? coarse : fine;
  if (heard === null) {
    const reason = typeof whole === 'string' ? whole : 'too-short';
    const isShort = stretch.end - stretch.onset < STEADY_FOR * stretch.sampleRate;
    return nothing(reason === 'no-decay' && isShort ? 'too-short' : reason);
  }
  const isMissed = missesDb(coarse.peak, heard) > MISSED_DB + 3 * heard.residualDb;
  return decayOf(whole, heard, { isMissed, isClipped: clippedUntil > stretch.onset });
}

/** By how much the loudest point lies above the fall that was found after it, dB: a fast fall came first. */
function missesDb(peak: Fits['peak'], { power, tau, start, floor }: DecayFit): number {
  const early = Math.min(50, Math.max(0, (2 * (start - peak.at)) / tau));
  return 10 * Math.log10(peak.power / (power * Math.exp(early) + floor));
}

function decayOf(
  whole: DecayFit | Reason,
  heard: DecayFit,
  { isMissed, isClipped }: { readonly isMissed: boolean; readonly isClipped: boolean },
): Decay {
  // The difference of the two is a part of the error.
  const differ = typeof whole === 'string' ? 0 : Math.abs(Math.log(whole.tau / heard.tau));
  const both = typeof whole === 'string' ? heard.error : Math.hypot(whole.error, heard.error);
  const isBent =
    isMissed ||
    differ > Math.max(BENT, 2.5 * both) ||
    (typeof whole !== 'string' && (whole.reason === 'not-exponential' || isWorse(whole, heard)));
  const fit = isBent || typeof whole === 'string' ? heard : whole;
  const error = Math.hypot(fit.error, isBent ? 0 : differ / 2);
  if (!(error < GUESS)) return nothing(fit.reason === 'noise-floor' ? fit.reason : 'too-short');
  const reliability = reliabilityOf(error) * (isBent ? 0.5 : 1);
  const reason = isBent ? 'not-exponential' : (fit.reason ?? (isClipped ? 'clipped' : null));
  return {
    tau: { value: fit.tau, reliability, reason },
    t60: { value: fit.tau * LN_1000, reliability, reason },
    fit: { ...fit, error, reason },
  };
}

/**
 * Whether the whole fall is a guess, and its residual is so much larger than that of the first 30 dB that it cannot
 * have one slope.
 */
function isWorse(whole: DecayFit, heard: DecayFit): boolean {
  return whole.error > GUESS && whole.residualDb > MISSED_DB + 2 * heard.residualDb;
}

/** Under this power the recording's steps are coarser than the sound; hiss, or dither, smooths them out. */
export function leastPower({ floor, step }: HitStretch): number {
  return floor < DITHERED * step * step ? SMOOTH * step * step : 0;
}

/** Steps up to this size are smoothed out by a floor, whatever their size. @param floor mean square. */
export function leastStep(floor: number): number {
  return 0.999 * Math.sqrt(floor / DITHERED);
}

/** The part of a stretch that the coarse fit used, and a little more. */
function near(stretch: HitStretch, { whole, heard, floor }: Fits, window: number): HitStretch {
  if (heard === null) return stretch;
  const { onset, sampleRate } = stretch;
  const last = typeof whole === 'string' ? heard.end : Math.max(whole.end, heard.end);
  const seconds = 1.2 * (last - onset / sampleRate) + window;
  const end = Math.min(stretch.end, onset + Math.ceil(seconds * sampleRate));
  return { ...stretch, end, floor };
}

function nothing(reason: Reason): Decay {
  const estimate = { value: null, reliability: 0, reason };
  return { tau: estimate, t60: estimate, fit: null };
}

interface Fits {
  /** The fall to its end, and its first 30 dB; null for none. */
  readonly whole: DecayFit | Reason;
  readonly heard: DecayFit | null;
  /** The power without the sound, as far as it is known. */
  readonly floor: number;
  /** The loudest point of the envelope, and when, s. */
  readonly peak: { readonly power: number; readonly at: number };
}

function fitWith(
  samples: Float64Array,
  stretch: HitStretch,
  clippedUntil: number,
  { window, points }: { window: number; points: number },
): Fits {
  const { onset, end, sampleRate, floor: quiet } = stretch;
  const curve = powerEnvelope(samples, { from: onset, to: end, sampleRate, window });
  let loudest = 0;
  for (let i = 1; i < curve.power.length; i++) {
    if ((curve.power[i] as number) > (curve.power[loudest] as number)) loudest = i;
  }
  const peak = { power: curve.power[loudest] ?? 0, at: curve.start + loudest * curve.step };
  if (!(peak.power > 0)) {
    const whole = curve.power.length === 0 ? 'too-short' : 'silent';
    return { whole, heard: null, floor: quiet, peak };
  }
  // The first point holds only the fall if the hit starts at its loudest.
  const risen = loudest === 0 ? curve.start : curve.start + loudest * curve.step + curve.window / 2;
  const unclipped =
    clippedUntil > onset ? clippedUntil / sampleRate + curve.window / 2 : curve.start;
  const start = Math.max(risen, unclipped);
  const floor = Math.max(quiet, steadyFloor(curve.power));
  const options = { start, least: leastPower(stretch), enough: points };
  const whole = fitDecay(curve, { ...options, floor: quiet });
  const known = typeof whole === 'string' ? floor : Math.min(floor, Math.max(quiet, whole.floor));
  const heard = fitDecay(curve, { ...options, floor: known, withinDb: HEARD_DB });
  return {
    whole,
    heard: typeof heard !== 'string' ? heard : typeof whole === 'string' ? null : whole,
    floor: quiet,
    peak,
  };
}
