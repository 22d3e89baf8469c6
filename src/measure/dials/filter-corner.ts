/**
 * Cutoff and q of a filter of two poles, from noise that has passed through it.
 *
 *   power(f) = A c(f) |H(f)|^2 + F      H: low, band, high or notch of src/modules/filter.ts,
 *                                       c(f): the colour of the input, F: the recording's floor
 *
 * A, F, cutoff and q are those under which the spectrum is likeliest: the sum over the bands of P/S + ln S is
 * smallest (P measured, S by the model), each weighted by the amount of noise in it.
 *
 * What is claimed must be unlikely by chance. Twice the gain in log-likelihood over no filter is distributed as chi
 * squared (S. S. Wilks, Annals of Mathematical Statistics 9 (1938) 60-62), of two degrees of freedom exceeds x with
 * exp(-x/2), and has as many tries as there are places (Bonferroni's bound). Where chance could have made the dip that
 * is taken for the corner, other places are nearly as likely: the likelihoods of all are compared, each by its best fit
 * (H. Jeffreys, Theory of Probability, 3rd edition 1961, chapter 5; all from memory).
 *
 * Source: P. Whittle, Estimation and Information in Stationary Time Series, Arkiv for Matematik 2 (1953)
 * 423-434 (from memory); averaged spectra of overlapping windows: P. D. Welch, IEEE Trans. Audio and
 * Electroacoustics 15 (1967) 70-73 (from memory). The least error of the width B of a peak that is observed for T:
 * 1/sqrt(pi B T), by the same likelihood of first-order noise, worked out here.
 */

import { type Fitted, leastSquares } from '../least-squares.ts';
import { median } from '../median.ts';
import { hann, Periodogram } from '../spectrum/spectrum.ts';
import {
  type DialReading,
  GUESS,
  type MonoClip,
  type NoReading,
  steadyPart,
  uselessClip,
} from './reading.ts';

export type FilterOutput = 'low' | 'band' | 'high' | 'notch';

/** The input: white or pink noise, or a recording of it. */
export type Input = 'white' | 'pink' | MonoClip;

export interface Corner {
  readonly cutoff: DialReading;
  readonly q: DialReading;
  /** Natural logarithms of A and of q. */
  readonly level: FittedValue;
  readonly peak: FittedValue;
  /** Whether it lies so near the end of the recorded band that its figure is a guess. */
  readonly needsHigherRate: boolean;
}

/** A value with one standard error. */
export interface FittedValue {
  readonly value: number;
  readonly error: number;
}

/** Results of other clips of the same dial, if they agree: the same noise at the same gain, and an unchanged q. */
export interface Known {
  readonly level?: FittedValue | undefined;
  readonly peak?: FittedValue | undefined;
}

const LEAST_SECONDS = 1;
/** Bands of an octave: three in the peak of a q of 100. */
const BANDS = 192;
const LOWEST_HZ = 15;
/** Over this a source of noise may end: ours is 0.2 dB down (`modules/noise`). */
const HIGHEST_HZ = 20_000;
/** Of the sample rate; above it an interface's own filter shows. */
const HIGHEST_SHARE = 0.42;
const MOST_SIZE = 2 ** 19;
/**
 * Windows, overlapping by half, that a recording must hold at least: longer ones would be fewer, though they resolve
 * a sharper peak.
 */
const FEWEST_WINDOWS = 4;
const LEAST_SIZE = 2 ** 12;
/** dB: greatest residual of the model besides chance, rms. A filter's own deviations stay under a fifth of it. */
const MOST_LEFT = 2;
/** A filter's own deviations, some 0.5 dB, count as the scatter of a mean of so many powers. */
const MOST_COUNT = 75;
/** The floor is known beforehand only to a factor of e^10. */
const FLOOR_KNOWN = 10;
/** Factor on the least error of a q by chance: spectra of so few independent powers have long tails. */
const LEAST_OFF = 1.5;
/** A circuit's own 0.5 dB move a corner by this share of it, less for a sharper one. */
const MODEL_OFF = 0.02;
/**
 * A render's low-pass bends otherwise towards half its rate, the lower its q (src/modules/filter.ts), which cannot
 * be seen in it: by this, times the square of the corner over rate and q.
 */
const RENDER_OFF = 0.35;
/**
 * The error of an interface's own filter, and of a render's, where a recording ends, in natural logarithms of power
 * (0.65 dB), or where the highest band that is looked at ends; and the power of the frequency by which it is less
 * below.
 */
const EDGE_OFF = 0.15;
const EDGE_POWER = 4;
/** A corner in the upper half of the recorded band that is known no better than this is a guess. */
const EDGE_GUESS = 0.06;
/**
 * Noise without any filter fits some corner a little better than none, at the best of as many places as there are
 * bands; and a narrow notch at a low corner is a dip of one or two bins, where the deepest dip of noise may be deeper. So
 * a corner is claimed only if chance gives such a gain so seldom, and all other places together are so much less likely;
 * and standard errors from which on a fit is another place.
 */
const CHANCE = 1e-3;
const ELSEWHERE = 5;
/** A corner outside the observed band by this factor is a guess. */
const BEYOND = 1.1;
/** Welch's frames overlap by half: two are worth 1.06 / 1.12 of two independent ones. */
const OVERLAP = 0.947;
/** A Hann window's line, out to where it is 0 first: its power at so many places a bin, which add up to 1. */
const PLACES = 8;
const LINE = hannLine();

function hannLine(): Float64Array {
  const amplitude = (x: number): number => {
    if (x === 0) return 1;
    return x === 1 ? 0.5 : Math.sin(Math.PI * x) / (Math.PI * x) / (1 - x * x);
  };
  const power = Float64Array.from(
    { length: 4 * PLACES + 1 },
    (_, n) => amplitude(Math.abs(n / PLACES - 2)) ** 2,
  );
  const sum = power.reduce((all, one) => all + one, 0);
  return power.map((one) => one / sum);
}

/**
 * Finds the corner.
 * @param output which of the filter's jacks was recorded.
 * @param known under a low cutoff too little of the noise comes through to tell its level, and of a high one too
 *   little is seen, so these are taken from other clips.
 */
export function filterCorner(
  clip: MonoClip,
  output: FilterOutput,
  input: Input,
  known: Known = {},
): Corner | NoReading {
  const useless = uselessClip(clip, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const bands = bandsOf(clip);
  if (typeof bands === 'string') return bands;
  const source = sourceAt(bands, input, clip.sampleRate);
  if (typeof source === 'string') return source;
  const fits = startsFor(bands, source, output).map((start) =>
    fitFrom(bands, source, output, startWith(start, known), known),
  );
  const best = fits.reduce((a, b) => (b.squares < a.squares ? b : a));
  const [level = 0, corner = 0, peak = 0, floor = 0] = best.values;
  const model = modelOf(source, gainsOf(bands, output), { level, corner, peak, floor });
  if (leftDb(bands, model) > MOST_LEFT) return isFlat(bands, source) ? 'out-of-sight' : 'no-filter';
  const hz = Math.exp(corner);
  const [low, high] = [bands.hz[0] as number, bands.hz[bands.hz.length - 1] as number];
  if (hz < low / BEYOND || hz > high * BEYOND) return 'out-of-sight';
  const [levelError = 1, cornerError = 1, peakError = 1] = best.errors;
  const places = bands.hz.length;
  const gained = unfiltered(bands, source) - best.squares;
  const isHidden = gained < 2 * Math.log(places / CHANCE) || elsewhere(fits, best) > CHANCE;
  if (isHidden && output === 'notch') return 'by-chance';
  if (isHidden || !(cornerError < GUESS))
    return isFlat(bands, source) ? 'out-of-sight' : 'in-noise';
  const q = Math.exp(peak);
  const { sampleRate, samples } = clip;
  // A peak B hertz wide gives pi B T independent values in T seconds; for its place, twice as many.
  const values = (Math.PI * hz * samples.length) / q / sampleRate;
  const least = LEAST_OFF / Math.sqrt(values);
  // The possible effect of an interface near the end of the band is tried out.
  const power = bands.power.map((one, k) => one * edgeOff(bands, k, sampleRate));
  const moved = fitFrom({ ...bands, power }, source, output, { level, corner, peak, floor }, known);
  const [movedLevel = 0, movedCorner = 0, movedPeak = 0] = moved.values;
  const bent = output === 'low' ? RENDER_OFF * (hz / sampleRate / q) ** 2 : 0;
  const error = Math.hypot(
    cornerError,
    bent,
    1 / (q * Math.sqrt(2 * values)),
    MODEL_OFF / (1 + q),
    movedCorner - corner,
  );
  const ends = HIGHEST_SHARE * sampleRate;
  const sharpness = Math.hypot(peakError, bent, least, MODEL_OFF, movedPeak - peak);
  return {
    cutoff: { value: hz, error: hz * error },
    q: { value: q, error: q * sharpness },
    level: { value: level, error: Math.hypot(levelError, movedLevel - level) },
    peak: { value: peak, error: sharpness },
    needsHigherRate: hz > ends / 2 && error > EDGE_GUESS,
  };
}

/** The least squares of the input as it went in, over a floor. */
function unfiltered(bands: Bands, source: Float64Array): number {
  const ratio = median(bands.power.map((one, k) => one / (source[k] as number)));
  const [level, floor] = [Math.log(ratio), Math.log(ratio * median(source)) - FLOOR_KNOWN];
  return leastSquares(
    ([level = 0, floor = 0], left) => {
      const model = source.map((one) => Math.exp(level) * one + Math.exp(floor));
      residualsInto(bands, model, left);
    },
    bands.hz.length,
    [level, floor],
  ).squares;
}

/** The likelihood of all fits at other places, as a share of that of the best. */
function elsewhere(fits: readonly Fitted[], best: Fitted): number {
  const [, corner = 0] = best.values;
  const error = best.errors[1] ?? 1;
  return fits.reduce((sum, { values, squares }) => {
    const off = Math.abs((values[1] ?? 0) - corner);
    return off > ELSEWHERE * error ? sum + Math.exp((best.squares - squares) / 2) : sum;
  }, 0);
}

function edgeOff({ hz }: Bands, band: number, sampleRate: number): number {
  const share = (hz[band] as number) / Math.min(HIGHEST_HZ, HIGHEST_SHARE * sampleRate);
  return Math.exp(EDGE_OFF * share ** EDGE_POWER);
}

function startWith(start: SpectrumModel, { level, peak }: Known): SpectrumModel {
  return { ...start, ...(level && { level: level.value }), ...(peak && { peak: peak.value }) };
}

interface Bands {
  readonly hz: Float64Array;
  readonly power: Float64Array;
  /** The number of independent powers in the mean. */
  readonly count: Float64Array;
  /** Hz, of the transform's bins. */
  readonly binHz: number;
}

function bandsOf(clip: MonoClip): Bands | NoReading {
  const { sampleRate, samples } = steadyPart(clip);
  let size = LEAST_SIZE;
  while (size < MOST_SIZE && 2 * size * FEWEST_WINDOWS <= samples.length) size *= 2;
  const spectrum = new Periodogram(hann(size));
  let frames = 0;
  let first = 0;
  let second = 0;
  for (let at = 0; at + size <= samples.length; at += size / 2) {
    spectrum.add(samples, at);
    frames += 1;
    let sum = 0;
    for (let n = at; n < at + size; n++) sum += (samples[n] as number) ** 2;
    if (2 * (at + size / 2) < samples.length) first += sum;
    else second += sum;
  }
  if (frames < 4) return 'too-short';
  // Steady noise is as loud in both halves.
  if (!(first > second / 4 && second > first / 6)) return 'no-noise';
  const binHz = sampleRate / size;
  const highest = Math.min(HIGHEST_HZ, HIGHEST_SHARE * sampleRate);
  const ratio = 2 ** (1 / BANDS);
  const [hz, power, count]: [number[], number[], number[]] = [[], [], []];
  for (let bin = Math.max(3, Math.ceil(LOWEST_HZ / binHz)); bin * binHz < highest; ) {
    const end = Math.max(bin + 1, Math.ceil(bin * ratio));
    let sum = 0;
    for (let k = bin; k < end; k++) sum += spectrum.energy[k] as number;
    hz.push(((bin + end - 1) / 2) * binHz);
    // In one hertz, whatever the rate: clips of one dial share it.
    power.push(sum / (end - bin) / frames / sampleRate);
    // Neighbouring bins of a Hann window are worth two thirds of as many independent ones.
    const independent = Math.max(1, (2 / 3) * (end - bin)) * Math.max(1, frames * OVERLAP);
    count.push(1 / (1 / independent + 1 / MOST_COUNT));
    bin = end;
  }
  if (power.some((one) => !(one > 0))) return 'no-noise';
  return {
    hz: Float64Array.from(hz),
    power: Float64Array.from(power),
    count: Float64Array.from(count),
    binHz,
  };
}

/** The input's power in the bands, in any unit. */
function sourceAt({ hz }: Bands, input: Input, sampleRate: number): Float64Array | NoReading {
  if (input === 'white') return hz.map(() => 1);
  if (input === 'pink') return hz.map((one) => 1000 / one);
  const useless = uselessClip(input, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const own = bandsOf(input);
  if (typeof own === 'string') return own;
  // A third of an octave at a time: for its colour without its random scatter.
  const smooth = hz.map((one) => {
    let sum = 0;
    let weight = 0;
    for (let k = 0; k < own.hz.length; k++) {
      if (Math.abs(Math.log2((own.hz[k] as number) / one)) > 1 / 6) continue;
      sum += (own.power[k] as number) * (own.count[k] as number);
      weight += own.count[k] as number;
    }
    return weight > 0 ? sum / weight : Number.NaN;
  });
  return smooth.every(Number.isFinite) && sampleRate > 0 ? smooth : 'too-short';
}

interface SpectrumModel {
  /** Natural logarithms: of A, of the cutoff in Hz, of q, of the floor. */
  readonly level: number;
  readonly corner: number;
  readonly peak: number;
  readonly floor: number;
}

/** The gains of a filter in the bands, by the logarithms of its cutoff and its q. */
type Gains = (corner: number, peak: number) => Float64Array;

/** As many as are asked for again while the slopes of one model are worked out. */
const GAINS_KEPT = 3;

/** Works them out, and keeps the latest: what moves the level or the floor alone leaves them as they are. */
function gainsOf(bands: Bands, output: FilterOutput): Gains {
  const kept: { readonly corner: number; readonly peak: number; readonly gains: Float64Array }[] =
    [];
  return (corner, peak) => {
    const known = kept.find((one) => one.corner === corner && one.peak === peak);
    if (known !== undefined) return known.gains;
    const gains = filterGains(bands, output, corner, peak);
    kept.push({ corner, peak, gains });
    if (kept.length > GAINS_KEPT) kept.shift();
    return gains;
  };
}

/** The power by the model. */
function modelOf(source: Float64Array, gainsAt: Gains, model: SpectrumModel): Float64Array {
  const gains = gainsAt(model.corner, model.peak);
  const [level, floor] = [Math.exp(model.level), Math.exp(model.floor)];
  const powers = new Float64Array(gains.length);
  for (let k = 0; k < powers.length; k++)
    powers[k] = level * (source[k] as number) * (gains[k] as number) + floor;
  return powers;
}

/** The gain in each band; where that is narrower than a bin's line, smeared by it. */
function filterGains(
  { hz, binHz }: Bands,
  output: FilterOutput,
  corner: number,
  peak: number,
): Float64Array {
  const [f0, q] = [Math.exp(corner), Math.exp(peak)];
  // A peak this narrow is widened by the window.
  const isNarrow = f0 / q < 24 * binHz;
  const near = 12 * binHz + (3 * f0) / q;
  const gains = new Float64Array(hz.length);
  for (let k = 0; k < hz.length; k++) {
    const f = hz[k] as number;
    let gain: number;
    if (isNarrow && Math.abs(f - f0) < near) {
      gain = 0;
      for (let n = 0; n < LINE.length; n++)
        gain += (LINE[n] as number) * powerGain(f + (n / PLACES - 2) * binHz, f0, q, output);
    } else gain = powerGain(f, f0, q, output);
    gains[k] = gain;
  }
  return gains;
}

/** |H|^2 at a frequency. */
function powerGain(f: number, f0: number, q: number, output: FilterOutput): number {
  const s = (f / f0) ** 2;
  const damping = s / (q * q);
  const denominator = (1 - s) ** 2 + damping;
  switch (output) {
    case 'low':
      return 1 / denominator;
    case 'band':
      return damping / denominator;
    case 'high':
      return (s * s) / denominator;
    case 'notch':
      return (1 - s) ** 2 / denominator;
  }
}

/** The residuals of a model in the bands: their squares add up to twice the lost log-likelihood. */
function residualsInto(bands: Bands, model: Float64Array, left: Float64Array): void {
  const { power, count } = bands;
  for (let k = 0; k < left.length; k++) {
    const ratio = (power[k] as number) / (model[k] as number);
    const lost = 2 * (count[k] as number) * (ratio - 1 - Math.log(ratio));
    left[k] = Math.sign(ratio - 1) * Math.sqrt(Math.max(0, lost));
  }
}

function fitFrom(
  bands: Bands,
  source: Float64Array,
  output: FilterOutput,
  start: SpectrumModel,
  known: Known,
) {
  const count = bands.hz.length;
  const gainsAt = gainsOf(bands, output);
  return leastSquares(
    ([level = 0, corner = 0, peak = 0, floor = 0], left) => {
      const model = modelOf(source, gainsAt, { level, corner, peak, floor });
      residualsInto(bands, model, left.subarray(0, count));
      left[count] = (floor - start.floor) / FLOOR_KNOWN;
      left[count + 1] = offFrom(level, known.level);
      left[count + 2] = offFrom(peak, known.peak);
    },
    count + 3,
    [start.level, start.corner, start.peak, start.floor],
  );
}

function offFrom(value: number, known: FittedValue | undefined): number {
  return known === undefined ? 0 : (value - known.value) / known.error;
}

/** First guesses of q, with the number of cutoffs tried in an octave. */
const START_Q = [
  [0.7, 3],
  [3, 6],
  [20, 24],
] as const;
const STARTS = 4;
const THIN = 4;
/** A notch is a dip of a few bins, as chance makes too: more places are tried, so near that none is between them. */
const NOTCH_Q = [
  [0.7, 6],
  [3, 12],
  [12, 48],
  [50, 96],
] as const;
const NOTCH_STARTS = 12;

/** The likeliest of a grid, with the level that fits each best. */
function startsFor(
  all: Bands,
  input: Float64Array,
  output: FilterOutput,
): readonly SpectrumModel[] {
  // A first guess needs only some of the bands.
  const isNotch = output === 'notch';
  const thin = (values: Float64Array): Float64Array =>
    isNotch ? values : values.filter((_, k) => k % THIN === 0);
  const source = thin(input);
  const { power, hz } = { power: thin(all.power), hz: thin(all.hz) };
  const bands = { power, hz, count: thin(all.count), binHz: all.binHz };
  const powers = Float64Array.from(power).sort();
  const floor = Math.log((powers[Math.floor(powers.length * 0.01)] as number) / 2);
  const left = new Float64Array(hz.length);
  const gainsAt = gainsOf(bands, output);
  // A notch leaves nearly all as it was.
  const around = Math.log(median(power.map((one, k) => one / (source[k] as number))));
  const rounds = isNotch ? 1 : 3;
  const found: { readonly model: SpectrumModel; readonly lost: number }[] = [];
  const [low, high] = [hz[0] as number, hz[hz.length - 1] as number];
  for (const [q, each] of isNotch ? NOTCH_Q : START_Q)
    for (let f0 = low; f0 <= high; f0 *= 2 ** (1 / each)) {
      const [corner, peak] = [Math.log(f0), Math.log(q)];
      const shape = modelOf(source, gainsAt, { level: 0, corner, peak, floor: -700 });
      let level = isNotch ? around : largestLevel(power, shape);
      // A few rounds, each for the level if the other numbers hold.
      for (let round = 0; round < rounds; round++) {
        let sum = 0;
        let weight = 0;
        const [times, under] = [Math.exp(level), Math.exp(floor)];
        for (let k = 0; k < shape.length; k++) {
          const part = times * (shape[k] as number);
          const share = part / (part + under);
          sum += share * share * ((power[k] as number) / (part + under));
          weight += share * share;
        }
        if (weight > 0) level += Math.log(Math.min(4, Math.max(0.25, sum / weight)));
      }
      const model = { level, corner, peak, floor };
      residualsInto(bands, modelOf(source, gainsAt, model), left);
      let lost = 0;
      for (let k = 0; k < left.length; k++) lost += Math.min(400, (left[k] as number) ** 2);
      found.push({ model, lost });
    }
  const sorted = found.toSorted((a, b) => a.lost - b.lost).map(({ model }) => model);
  return isNotch ? apart(sorted) : sorted.slice(0, STARTS);
}

/** The first of a list whose notches do not overlap with one before them. */
function apart(models: readonly SpectrumModel[]): readonly SpectrumModel[] {
  const kept: SpectrumModel[] = [];
  for (const model of models) {
    const overlaps = kept.some(
      ({ corner, peak }) => Math.abs(model.corner - corner) < Math.exp(-Math.min(model.peak, peak)),
    );
    if (!overlaps) kept.push(model);
    if (kept.length === NOTCH_STARTS) break;
  }
  return kept;
}

function largestLevel(power: Float64Array, shape: Float64Array): number {
  let most = 0;
  let gain = 0;
  for (let k = 0; k < power.length; k++) {
    if ((power[k] as number) > most) most = power[k] as number;
    if ((shape[k] as number) > gain) gain = shape[k] as number;
  }
  return Math.log(most / gain);
}

/** dB rms between bands and model, minus the part due to chance. */
function leftDb({ power, count }: Bands, model: Float64Array): number {
  let squares = 0;
  let chance = 0;
  for (let k = 0; k < power.length; k++) {
    squares += (10 * Math.log10((power[k] as number) / (model[k] as number))) ** 2;
    // The variance of the logarithm of a mean of n powers is some 1/(n - 1/2).
    chance += 4.343 ** 2 / ((count[k] as number) - 0.5);
  }
  return Math.sqrt(Math.max(0, squares - 1.3 * chance) / power.length);
}

/** Whether output and input agree within a decibel or so: then the corner is elsewhere. */
function isFlat({ power, count }: Bands, source: Float64Array): boolean {
  let sum = 0;
  let weight = 0;
  for (let k = 0; k < power.length; k++) {
    sum += (count[k] as number) * Math.log((power[k] as number) / (source[k] as number));
    weight += count[k] as number;
  }
  const level = Math.exp(sum / weight);
  const flat = source.map((one) => level * one);
  return leftDb({ hz: power, power, count, binHz: 1 }, flat) < 1.5;
}
