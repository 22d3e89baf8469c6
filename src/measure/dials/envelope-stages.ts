/**
 * The stages of an envelope, from its volts or from a sound whose amplifier, of a linear law, it opens.
 *
 *   exponential   attack   h = P (1 - e^(-c t / T)) / (1 - e^(-c)), c = ln 3: a charge toward 1.5 P, cut off at P
 *                 decay    h = S + (P - S) e^(-5 t / T)
 *                 release  h = L e^(-5 t / T)
 *   linear        attack   h = P t / T
 *                 decay    h = P - (P - S) t / T
 *                 release  h = L - P t / T
 *
 * as src/modules/envelope.ts has them; a glide of src/modules/slew.ts rises as a release falls. T is the setting, and
 * the number that is looked for; of a straight glide it is the time for all of its height.
 */

import { togetherOf } from '../hits/envelope-fit.ts';
import { leastSquares } from '../least-squares.ts';
import { median } from '../median.ts';
import {
  type HeardAs,
  HOPS,
  heightsOf,
  type LevelCourse,
  levelCourse,
  type RestLevel,
  shownAt,
} from './course.ts';
import {
  type DialReading,
  GUESS,
  type MonoClip,
  type NoReading,
  uselessClip,
  withoutOffset,
} from './reading.ts';
import { type DialStroke, type DialStrokes, strokesOf, whitened } from './strokes.ts';

export type EnvelopeStage =
  | 'attack'
  | 'decay'
  | 'sustain'
  | 'release'
  | 'rise'
  | 'fall'
  | 'shutting';
export type Curve = 'exponential' | 'linear';
/** Of a low-pass gate: its photocell, as src/modules/low-pass-gate.ts has it. */
type StageCurve = Curve | 'recombining';

/** ln 3 and 5: see src/modules/envelope.ts. */
const BEND = Math.log(3);
const CONSTANTS = 5;
/** Greatest residual of a stage besides noise, of its peak: with more, it has another shape. */
const MOST_LEFT = 0.015;
const MOST_LEFT_NOISE = 0.035;
/** Windows in a stage that is looked at closely. */
const WINDOWS = 14;
/** For noise a longer window scatters less. */
const NOISE_WINDOWS = 8;
/** The error of a sustain seen through a window as long as the fall's time constant. */
const PEAK_OFF = 0.2;
/** No time is known better than to this share, whatever the strokes agree on. */
const BEST = 0.002;
/** ... nor than to so many samples: its start lies between two, and the engine makes a stage of whole ones. */
const SAMPLES_OFF = 1;
/**
 * ... and that of a photocell no better than this: a gate some percent under unity, due to a load, gives less light.
 */
const LIGHT_OFF = 0.02;
/** Of the peak: a level held this high counts as the whole peak. */
const ALL = 0.97;
/** Of the peak: a fall that starts lower than this is not its decay. */
const MISSED = 0.75;
const MISSED_NOISE = 0.4;
/** Two shapes are not told apart if the better one's residual is more than this share of the other's. */
const ALIKE = 0.6;
/** Samples in the shortest window. */
const LEAST_WINDOW = 16;
/** Strokes that are measured; more add little. */
const MOST_STROKES = 8;

/**
 * Measures a stage in every stroke of a recording.
 * @param curve the shape that the envelope is known to have; the nearer one unless given.
 * @returns s; for a sustain, the share of the peak.
 */
export function envelopeStage(
  asRecorded: MonoClip,
  stage: EnvelopeStage,
  heard: HeardAs,
  curve?: Curve,
): DialReading | NoReading {
  const useless = uselessClip(asRecorded, 0);
  if (useless !== undefined) return useless;
  const recorded = heard === 'sound' ? withoutOffset(asRecorded) : asRecorded;
  const first = strokesOf(recorded, heard);
  if (typeof first === 'string') return first;
  const clip = first.isNoise ? whitened(recorded) : recorded;
  const found = first.isNoise ? strokesOf(clip, heard) : first;
  if (typeof found === 'string') return found;
  const strokes = found.strokes.slice(0, MOST_STROKES);
  const tries = shapesOf(stage, curve).map((shape) => ({
    shape,
    made: strokes.map((stroke) => stageOf(clip, found, stroke, { stage, curve: shape })),
  }));
  const told = tries.map(({ shape, made }) => ({
    shape,
    fits: made.filter((one): one is StageFit => typeof one !== 'string'),
    why: made.find((one): one is NoReading => typeof one === 'string'),
  }));
  const enough = told.filter(({ fits }) => fits.length > 0 && 2 * fits.length >= strokes.length);
  // A fall that a sound hides looks like any shape.
  const hidden = told.find(
    ({ why, fits }) => heard === 'sound' && why === 'too-fast' && 2 * fits.length < strokes.length,
  );
  if (hidden !== undefined || enough.length === 0) return (hidden ?? told[0])?.why ?? 'no-strokes';
  const { fits, shape } = enough.reduce((a, b) => (leftOf(b.fits) < leftOf(a.fits) ? b : a));
  if (leftOf(fits) > (found.isNoise ? MOST_LEFT_NOISE : MOST_LEFT)) return 'other-shape';
  const resolved = stage === 'sustain' ? 0 : SAMPLES_OFF / recorded.sampleRate;
  const reading = together(fits, shape, stage, resolved);
  const other = enough.find((one) => one.shape !== shape);
  if (typeof reading === 'string' || other === undefined) return reading;
  if (!found.isNoise || leftOf(fits) < ALIKE * leftOf(other.fits)) return reading;
  // Noise hides which shape it is, and the difference of the two adds to the error.
  const second = together(other.fits, other.shape, stage, resolved);
  const apart = typeof second === 'string' ? 0 : (second.value - reading.value) / 2;
  const error = Math.hypot(reading.error, apart);
  return error < GUESS * (stage === 'sustain' ? 1 : reading.value)
    ? { ...reading, error }
    : 'in-noise';
}

function shapesOf(stage: EnvelopeStage, curve: Curve | undefined): readonly StageCurve[] {
  if (stage === 'shutting') return ['recombining'];
  return curve === undefined ? ['exponential', 'linear'] : [curve];
}

interface StageFit {
  readonly value: number;
  readonly error: number;
  readonly peak: number;
  /** The residual besides noise, as a share of the peak. */
  readonly left: number;
}

function leftOf(fits: readonly StageFit[]): number {
  return fits.reduce((sum, { left }) => sum + left, 0) / Math.max(1, fits.length);
}

/** Stages whose clips must all reach the same height. */
const PEAKED: readonly EnvelopeStage[] = ['attack', 'rise', 'fall'];

/** The mean of all strokes, each weighted by its error; the error is not under what their scatter says. */
function together(
  fits: readonly StageFit[],
  curve: StageCurve,
  stage: EnvelopeStage,
  resolved: number,
): DialReading | NoReading {
  const least = 1e-4 * Math.abs(fits[0]?.value ?? 0) + 1e-9;
  const weights = fits.map(({ error }) => 1 / Math.max(error, least) ** 2);
  const weight = weights.reduce((sum, one) => sum + one, 0);
  const value = fits.reduce((sum, fit, k) => sum + fit.value * (weights[k] as number), 0) / weight;
  const own = 1 / Math.sqrt(weight);
  const apart =
    fits.length < 2
      ? 0
      : Math.sqrt(
          fits.reduce((sum, fit, k) => sum + (weights[k] as number) * (fit.value - value) ** 2, 0) /
            weight /
            (fits.length - 1),
        );
  const best = (stage === 'shutting' ? LIGHT_OFF : BEST) * value;
  const error = Math.hypot(Math.max(own, apart), best, resolved);
  if (!(error < GUESS * (stage === 'sustain' ? 1 : value))) return 'in-noise';
  const peak = fits.reduce((sum, fit) => sum + fit.peak, 0) / fits.length;
  return {
    value,
    error,
    ...(curve !== 'recombining' && { curve }),
    ...(PEAKED.includes(stage) && { peak }),
  };
}

interface AskedStage {
  readonly stage: EnvelopeStage;
  readonly curve: StageCurve;
}

function stageOf(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  asked: AskedStage,
): StageFit | NoReading {
  switch (asked.stage) {
    case 'attack':
    case 'rise':
      return attackOf(clip, found, stroke, asked);
    case 'decay':
    case 'sustain':
      return decayOf(clip, found, stroke, asked);
    case 'release':
    case 'fall':
    case 'shutting':
      return releaseOf(clip, found, stroke, asked.curve);
  }
}

/** A rise as it was fitted: when it begins, how long it takes, how high it gets. */
interface Rise {
  readonly onset: number;
  readonly length: number;
  readonly lengthError: number;
  readonly peak: number;
  readonly left: number;
  readonly window: number;
}

function attackOf(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  asked: AskedStage,
): StageFit | NoReading {
  const rise = riseOf(clip, found, stroke, asked);
  if (rise === undefined) return 'too-fast';
  const { length, lengthError, peak, left, window } = rise;
  const isShown =
    length > window * (found.course.heard === 'volts' ? 0.25 : found.isNoise ? 8 : 1.5);
  if (!isShown || !(lengthError < 2 * GUESS * length)) return 'too-fast';
  return { value: length, error: lengthError, peak, left };
}

/** Share of a wave's period: the phase at which a rise ends and a fall begins moves the observed times by this. */
const PHASE_OFF = 0.2;
/** A first, rough look uses a window that smears the times; a second look starts from its result. */
const LOOKS = 3;

function riseOf(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  { stage, curve }: AskedStage,
): Rise | undefined {
  const bend = curve === 'linear' ? 1e-4 : stage === 'rise' ? CONSTANTS : BEND;
  // The time at which the rise is at a share of its height, as a share of its whole time.
  const timeAt = (share: number): number => -Math.log(1 - share * (1 - Math.exp(-bend))) / bend;
  let length = (stroke.half - stroke.tenth) / (timeAt(0.5) - timeAt(0.1));
  let onset = stroke.tenth - length * timeAt(0.1);
  let { peak } = stroke;
  let rise: Rise | undefined;
  for (let look = 0; look < LOOKS; look++) {
    const window = Math.max(
      LEAST_WINDOW / clip.sampleRate,
      found.shortest,
      length / (found.isNoise ? NOISE_WINDOWS : WINDOWS),
    );
    const margin = 0.2 * length + window;
    const held = heldUntil(found, stroke, length);
    const course = stretch(clip, found.course.heard, {
      from: Math.max(stroke.begin, onset - margin),
      to: Math.min(held, onset + 1.6 * length + 1.5 * window),
      window,
    });
    const heightAt: HeightAt = ([start = 0, time = 0, top = 0, fall = 0]) => {
      const whole = Math.exp(time);
      const most = 1 - Math.exp(-bend);
      return (now) => {
        const past = now - start;
        if (past <= 0) return 0;
        if (past >= whole) return top * Math.exp(-Math.min(50, Math.abs(fall) * (past - whole)));
        return (top * (1 - Math.exp((-bend * past) / whole))) / most;
      };
    };
    const start = [
      onset,
      Math.log(Math.max(length, window / 8)),
      peak,
      0.1 / Math.max(length, window),
    ];
    const fit = fitted(
      course,
      restFor(found, course),
      heightAt,
      start,
      found.isNoise ? 'by-height' : 'even',
    );
    if (fit === undefined) return rise;
    const [fitOnset = 0, logLength = 0, fitPeak = 0] = fit.values;
    const next = Math.exp(logLength);
    if (!(next < 4 * (stroke.end - stroke.begin)) || !(fitPeak > 0)) return rise;
    const isSettled = Math.abs(Math.log(next / length)) < 0.02;
    [onset, length, peak] = [fitOnset, next, fitPeak];
    const lengthError = length * (fit.errors[1] as number);
    rise = { onset, length, lengthError, peak, left: fit.left, window };
    if (isSettled) break;
  }
  return rise;
}

/** Until when it stays near its peak: later points say nothing about the rise. */
function heldUntil(
  { course, rest, isNoise }: DialStrokes,
  stroke: DialStroke,
  length: number,
): number {
  const heights = heightsOf(course, rest);
  const [first, last] = [indexOf(course, stroke.most), indexOf(course, stroke.end)];
  // For noise a mean of several points is taken; otherwise chance would look like a fall.
  const around = isNoise ? 2 * HOPS : 0;
  const until = (from: number, share: number, isOver: boolean): number => {
    let n = from;
    const level = share * stroke.peak;
    while (n < last && meanAround(heights, n, around) > level !== isOver) n += 1;
    return n;
  };
  // A ripple near the peak does not count as leaving it.
  const [near, gone] = isNoise ? [0.8, 0.65] : [0.97, 0.9];
  const reached = until(first, near, true);
  const left = until(reached, gone, false);
  if ((left - reached) * course.step > 0.3 * length)
    return course.start + left * course.step - course.window;
  // It falls at once: the course of the fall shows where the top was.
  return course.start + until(left, 0.5, false) * course.step;
}

function meanAround(values: Float64Array, at: number, around: number): number {
  let sum = 0;
  for (let n = at - around; n <= at + around; n++) sum += values[n] ?? 0;
  return sum / (2 * around + 1);
}

function decayOf(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  asked: AskedStage,
): StageFit | NoReading {
  const { stage, curve } = asked;
  const rise = riseOf(clip, found, stroke, asked);
  const top = rise === undefined ? stroke.most : rise.onset + rise.length;
  const off = gateEnd(found, stroke, top);
  // A stroke that is held at its peak does not fall, and so has no decay time.
  if (stage === 'sustain' && off !== undefined && heightNear(found, off) > ALL * stroke.peak)
    return heldAll(stroke);
  const ends = off === undefined ? [stroke.end] : [stroke.end, off];
  const fits = ends.map((end) => fallFrom(clip, found, stroke, { top, end, curve, keeps: true }));
  // The whole stroke where one fall explains it; otherwise up to where the gate ends.
  const [whole, held] = fits;
  const fit =
    whole === undefined || (held !== undefined && held.left < 0.7 * whole.left - 0.001)
      ? held
      : whole;
  if (fit === undefined)
    return stage === 'sustain' && off !== undefined ? heldAll(stroke) : 'too-fast';
  const { hold, height, length, lengthError, holdError, left } = fit;
  const peak = hold + height;
  // A fall that begins far under the peak is a later one: the first was over before it was seen.
  const missed = found.isNoise ? MISSED_NOISE : MISSED;
  if (rise !== undefined && peak < missed * rise.peak) return 'too-fast';
  if (stage === 'sustain') {
    if (isTooFast(found, fit, curve, 2.5)) return 'too-fast';
    // The height of the peak is read where the fall begins, which a window smears.
    const smeared = PEAK_OFF * (hold / peak) * Math.min(1, (CONSTANTS * fit.window) / length);
    return { value: hold / peak, error: Math.hypot(holdError / peak, smeared), peak, left };
  }
  if (isTooFast(found, fit, curve)) return 'too-fast';
  const topError = PHASE_OFF * found.period;
  return { value: length, error: Math.hypot(lengthError, topError), peak, left };
}

/** A stroke that does not fall while its gate is on: a sustain of 100 %. */
function heldAll({ peak }: DialStroke): StageFit {
  return { value: 1, error: 0.01, peak, left: 0 };
}

/** Cycles that a time constant, or a straight fall, has to last for a sound to show it. */
const SHOWN = { exponential: 1.3, linear: 2.5, recombining: 1.3 };

/** Of its time: when a fall is down to a third or so. */
const TO_E = { exponential: 1 / CONSTANTS, linear: 1, recombining: 0.2 };

/** Whether a sound's own wave hides how it falls. @param times how much longer than for its time alone. */
function isTooFast(
  { course, period }: DialStrokes,
  { length }: Fall,
  curve: StageCurve,
  times = 1,
): boolean {
  const constant = length * TO_E[curve];
  const shortest = course.heard === 'sound' ? period : course.window / 3;
  return constant < times * SHOWN[curve] * shortest;
}

function releaseOf(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  curve: StageCurve,
): StageFit | NoReading {
  const { course, rest } = found;
  const heights = heightsOf(course, rest);
  const [first, last] = [indexOf(course, stroke.most), indexOf(course, stroke.end)];
  // The level that a stroke was held at is its level soon after its rise.
  const soon = first + Math.max(1, Math.floor((last - first) / 10));
  const held = median(heights.subarray(first, soon));
  // The last moment at which it is as high as that.
  let off = last;
  while (off > first && (heights[off] as number) < 0.88 * held) off -= 1;
  if (off - first < 2) return 'no-hold';
  const top = course.start + off * course.step;
  const fit =
    curve !== 'exponential'
      ? heldRelease(clip, found, stroke, { top, held, curve })
      : fallFrom(clip, found, stroke, { top, end: stroke.end, curve, keeps: false });
  const isCell = curve === 'recombining';
  if (fit === undefined || isTooFast(found, fit, curve, isCell && found.isNoise ? 2 : 1))
    return 'too-fast';
  return { value: fit.length, error: fit.lengthError, peak: stroke.peak, left: fit.left };
}

/** A fall whose shape depends on where it starts is timed from the peak: the level before it has to be known too. */
function heldRelease(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  { top, held, curve }: { readonly top: number; readonly held: number; readonly curve: StageCurve },
): Fall | undefined {
  const isStraight = curve === 'linear';
  const rough = (isStraight ? 1.6 : 1 / TO_E[curve]) * roughFall(found, top, stroke.end);
  const windows = found.isNoise ? NOISE_WINDOWS : WINDOWS;
  const least = Math.max(LEAST_WINDOW / clip.sampleRate, found.shortest);
  const window = Math.max(least, Math.min(rough / windows, LONGEST_WINDOW));
  const hold = top - stroke.most;
  const course = stretch(clip, found.course.heard, {
    from: top - Math.min(0.7 * hold, rough),
    to: Math.min(stroke.end + window, clip.samples.length / clip.sampleRate),
    window,
  });
  const heightAt: HeightAt = ([level = 0, time = 0, off = 0]) => {
    const whole = Math.exp(time);
    return (now) => level * fallenTo(curve, Math.max(0, (now - off) / whole));
  };
  const start = [held, Math.log(rough), top - 0.1 * rough];
  const scale: Scale = found.isNoise ? 'by-height' : 'even';
  const fit = fitted(course, restFor(found, course), heightAt, start, scale);
  if (fit === undefined) return undefined;
  const [height = 0, logLength = 0] = fit.values;
  // Held under its peak, it falls no faster. A wave ripples at its peak and while it is held.
  const heights = heightsOf(found.course, found.rest);
  const holding = heights.subarray(
    indexOf(found.course, top - 0.7 * hold),
    indexOf(found.course, top),
  );
  const ripple = holding.reduce((a, b) => Math.max(a, b), 0) / Math.max(median(holding), 1e-12);
  const part =
    found.isNoise || !isStraight ? 1 : Math.max(1, stroke.peak / height / Math.max(1, ripple));
  const length = Math.exp(logLength) * part;
  const lengthError = length * (fit.errors[1] as number);
  return { hold: 0, holdError: 0, height, length, lengthError, left: fit.left, window };
}

/** The level of a fall from 1. @param share of its time, from 0 on. */
function fallenTo(curve: StageCurve, share: number): number {
  switch (curve) {
    case 'linear':
      return Math.max(0, 1 - share);
    case 'exponential':
      return Math.exp(-CONSTANTS * share);
    case 'recombining':
      return conducts(share);
  }
}

/**
 * Rate of recombination by centres, that of carriers with one another being 1; and the level at which a fall ends.
 */
const [PROPORTIONAL, FALLEN] = [0.05, 0.1];
const HALF = PROPORTIONAL / 2;
/** In the dark m = n + b/2 goes from 1 + b/2 to (m + s T)/(1 + m T/s), s = b/2, T = tanh(s t/tau). */
const DARK_AT_TENTH = Math.atanh((1 - FALLEN) / (((1 + HALF) * (FALLEN + HALF)) / HALF - HALF));

function conducts(share: number): number {
  const turn = Math.tanh(DARK_AT_TENTH * share);
  return (1 + HALF + HALF * turn) / (1 + ((1 + HALF) * turn) / HALF) - HALF;
}

/** Where a held level ends, if there is one: the last place that is as high as the points just before it. */
function gateEnd(
  { course, rest }: DialStrokes,
  stroke: DialStroke,
  top: number,
): number | undefined {
  const heights = heightsOf(course, rest);
  const [first, last] = [indexOf(course, top), indexOf(course, stroke.end)];
  const back = Math.max(2, Math.round(0.15 * (last - first)));
  for (let n = last; n > first + back; n--) {
    const [now, before] = [heights[n] as number, heights[n - back] as number];
    if (now > 0.92 * before && before < 1.2 * now)
      return course.start + (n - Math.ceil(back / 3)) * course.step;
  }
  return undefined;
}

interface Fall {
  readonly hold: number;
  readonly holdError: number;
  /** How high over that it begins. */
  readonly height: number;
  readonly length: number;
  readonly lengthError: number;
  readonly left: number;
  readonly window: number;
}

interface FallAsked {
  /** s: where it begins, and where it is no longer looked at. */
  readonly top: number;
  readonly end: number;
  readonly curve: StageCurve;
  /** Whether it may end on a level that is held. */
  readonly keeps: boolean;
}

/** A held level counts if it improves the fit by more than this, which is 3 standard errors; less may be chance. */
const WORTH_A_HOLD = 9;
/** s. */
const LONGEST_WINDOW = 0.06;

/** How many times a fall may drop to a third within the stretch that is looked at. */
const ENOUGH_FALLS = 20;

function fallFrom(
  clip: MonoClip,
  found: DialStrokes,
  stroke: DialStroke,
  asked: FallAsked,
): Fall | undefined {
  const { top, end, curve, keeps } = asked;
  const { heard } = found.course;
  const rough = roughFall(found, top, end);
  const window = Math.max(
    LEAST_WINDOW / clip.sampleRate,
    found.shortest,
    Math.min((2 * rough) / (found.isNoise ? NOISE_WINDOWS : WINDOWS), LONGEST_WINDOW),
  );
  // Of a long hold only its start: the number of points is limited, and the fall needs some.
  const seen =
    keeps && !found.isNoise
      ? Math.min(end, top + ENOUGH_FALLS * Math.max(rough, found.course.window))
      : end;
  const course = stretch(clip, heard, {
    from: top,
    to: Math.min(seen + window, clip.samples.length / clip.sampleRate),
    window,
  });
  const rest = restFor(found, course);
  const heightAt: HeightAt = ([height = 0, time = 0, hold = 0]) => {
    const whole = Math.exp(time);
    return (now) => Math.abs(hold) + height * fallenTo(curve, (now - top) / whole);
  };
  const scale: Scale =
    heard === 'sound' && curve === 'exponential'
      ? 'in-decibels'
      : found.isNoise
        ? 'by-height'
        : 'even';
  const time = Math.log((curve === 'linear' ? 1.6 : CONSTANTS) * rough);
  const bare = fitted(course, rest, heightAt, [stroke.peak, time], scale);
  const level = Math.max(1e-6, heightNear(found, end));
  const held = keeps
    ? fitted(
        course,
        rest,
        heightAt,
        [Math.max(level / 100, stroke.peak - level), time, level],
        scale,
      )
    : undefined;
  const isHeld =
    held !== undefined &&
    (bare === undefined || bare.squares - held.squares > WORTH_A_HOLD * held.chance);
  const fit = isHeld ? held : bare;
  if (fit === undefined) return undefined;
  const [height = 0, logLength = 0, hold = 0] = fit.values;
  return {
    hold: Math.abs(hold),
    holdError: fit.errors[2] ?? (held?.errors[2] as number | undefined) ?? 0,
    height,
    length: Math.exp(logLength),
    lengthError: Math.exp(logLength) * (fit.errors[1] as number),
    left: fit.left,
    window,
  };
}

/** s from the top until the fall is at a third of its height over the level where it ends. */
function roughFall({ course, rest, isNoise }: DialStrokes, top: number, end: number): number {
  const heights = heightsOf(course, rest);
  const [start, last] = [indexOf(course, top), indexOf(course, end)];
  // At the very top half of the window lies in the rise; with noise, the highest point near it is chance.
  let first = start;
  for (let n = start; !isNoise && n <= Math.min(last, start + HOPS); n++)
    if ((heights[n] as number) > (heights[first] as number)) first = n;
  const [high, low] = [heights[first] as number, heights[last] as number];
  let n = first;
  while (n < last && (heights[n] as number) > low + (high - low) / Math.E) n += 1;
  return Math.max(course.step, (n - first) * course.step);
}

function heightNear({ course, rest }: DialStrokes, time: number): number {
  const index = indexOf(course, time);
  const here = { ...course, values: course.values.subarray(index, index + 1) };
  return Math.max(0, heightsOf(here, rest)[0] as number);
}

function indexOf({ start, step, values }: LevelCourse, time: number): number {
  return Math.min(values.length - 1, Math.max(0, Math.round((time - start) / step)));
}

function stretch(
  clip: MonoClip,
  heard: HeardAs,
  { from, to, window }: { from: number; to: number; window: number },
): LevelCourse {
  return levelCourse(clip, heard, {
    from: Math.floor(from * clip.sampleRate),
    to: Math.ceil(to * clip.sampleRate),
    window,
  });
}

/** The rest that was seen with another window: the level is the same. */
function restFor({ rest, course: first }: DialStrokes, course: LevelCourse): RestLevel {
  return { level: rest.level, spread: rest.spread * Math.sqrt(first.window / course.window) };
}

/** What counts how much: all alike, each by its height (as noise scatters), or in decibels. */
type Scale = 'even' | 'by-height' | 'in-decibels';

interface StretchFit {
  readonly values: readonly number[];
  readonly errors: readonly number[];
  /** As a share of the peak, beside noise. */
  readonly left: number;
  /** The sum of the squared residuals, and by how much one more parameter reduces it by chance. */
  readonly squares: number;
  readonly chance: number;
}

/** Points in a window that are compared: nearer ones add nothing. */
const PER_WINDOW = 4;
const MOST_POINTS = 160;
/** Parts of a stretch over which the residuals are averaged. */
const PARTS = 8;
/** In decibels, points under this share of the peak's power are ignored: -80 dB. */
const NOTHING = 1e-8;

/** The height at a time, s, of an envelope with the values that are looked for. */
type HeightAt = (values: readonly number[]) => (time: number) => number;

function fitted(
  course: LevelCourse,
  rest: RestLevel,
  heightAt: HeightAt,
  start: readonly number[],
  scale: Scale,
): StretchFit | undefined {
  const { values: seen, heard } = course;
  const stride = Math.max(
    1,
    Math.floor(course.window / course.step / PER_WINDOW),
    Math.floor(seen.length / MOST_POINTS),
  );
  const count = Math.floor((seen.length - 1) / stride) + 1;
  if (count < start.length + 4) return undefined;
  const highest = seen.reduce((a, b) => Math.max(a, Math.abs(b)), 0);
  const base = heard === 'sound' ? Math.max(rest.level, NOTHING * highest) : rest.level;
  const peak = heard === 'sound' ? Math.sqrt(highest) : highest - rest.level;
  const residuals = (values: readonly number[], left: Float64Array): void => {
    const heights = heightAt(values);
    for (let n = 0; n < left.length; n++) {
      const at = n * stride;
      const shown = shownAt(course, course.start + at * course.step, heights);
      left[n] = residual(seen[at] as number, shown, { base, peak, heard, scale });
    }
  };
  const fit = leastSquares(residuals, count, start);
  if (!fit.values.every(Number.isFinite) || !Number.isFinite(fit.squares)) return undefined;
  const chained = Math.max(1, togetherOf(fit.left));
  const errors = fit.errors.map((error) => error * Math.sqrt(chained));
  const heights = heightAt(fit.values);
  const offs = new Float64Array(count).map((_, n) => {
    const at = n * stride;
    const time = course.start + at * course.step;
    const shown = shownAt(course, time, heights);
    return residual(seen[at] as number, shown, { base, peak, heard, scale: 'even' });
  });
  return {
    values: fit.values,
    errors,
    left: leftShare(offs),
    squares: fit.squares,
    chance: (fit.squares / count) * chained,
  };
}

function residual(
  seen: number,
  shown: number,
  { base, peak, heard, scale }: { base: number; peak: number; heard: HeardAs; scale: Scale },
): number {
  if (heard === 'volts') return (seen - base - shown) / peak;
  if (scale === 'in-decibels') return Math.log(Math.max(seen, base * 0.01) / (shown + base)) / 2;
  const height = Math.sqrt(shown + base);
  const off = Math.sqrt(Math.max(0, seen)) - height;
  return off / (scale === 'even' ? peak : height + 0.15 * peak);
}

/** The residual averaged over parts of the stretch, as a share of the peak: from point to point noise dominates. */
function leftShare(offs: Float64Array): number {
  let squares = 0;
  for (let part = 0; part < PARTS; part++) {
    const from = Math.floor((part * offs.length) / PARTS);
    const to = Math.floor(((part + 1) * offs.length) / PARTS);
    let sum = 0;
    for (let n = from; n < to; n++) sum += offs[n] as number;
    squares += (sum / Math.max(1, to - from)) ** 2;
  }
  return Math.sqrt(squares / PARTS);
}
