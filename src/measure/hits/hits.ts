/** Everything that is measured of one hit. */

import { isDoubted } from '../doubt.ts';
import { type Estimate, none, type Reason } from '../estimate.ts';
import { clippedUntil } from '../loudness/clipping.ts';
import { NOISE, type Pitch, PitchMeter } from '../pitch/pitch.ts';
import { type Band, thirdOctaves } from '../spectrum/bands.ts';
import { HitSpectrum } from '../spectrum/hit-spectrum.ts';
import { centroid, flatness, quantileHz } from '../spectrum/spectrum.ts';
import { ENOUGH, steadyLevel } from '../steady-level.ts';
import { type Attack, measureAttack } from './attack.ts';
import { type Decay, HEARD_DB, type HitStretch, leastStep, measureDecay } from './decay.ts';
import { type DecayTimes, decayTimes } from './decay-curve.ts';
import type { DecayFit } from './envelope-fit.ts';
import { fallEnvelope } from './fall-envelope.ts';
import { type FallTimes, fallTimes } from './fall-times.ts';
import type { Drag, Ratchet } from './flams/drags.ts';
import { type Flam, findFlam } from './flams/flam.ts';
import { soundEnd } from './sound-end.ts';
import { type TwoSlopes, twoSlopes } from './two-slopes.ts';

/** What was measured of one hit; null for a figure that it does not have, or that could not be measured. */
export interface Hit {
  /** Its onset, s from the start of the recording. */
  readonly time: number;
  readonly peakDbfs: number;
  /** Peak over rms of the audible part, dB. */
  readonly crestDb: number;
  /** From 10 to 90 % of the peak. */
  readonly attackSeconds: number | null;
  readonly toPeakSeconds: number;
  /** Time constant of the amplitude. */
  readonly decayTauSeconds: number | null;
  /** Times of a fall by 60 dB by backward integration, as ISO 3382-1 has them: the early decay time, ... */
  readonly edtSeconds: number | null;
  /** ... from -5 to -25 dB, ... */
  readonly t20Seconds: number | null;
  /** ... and from -5 to -35 dB, or as far as the fall can be followed. */
  readonly t60Seconds: number | null;
  /** From the loudest moment until the level is down by 20, 40 and 60 dB. */
  readonly down20Seconds: number | null;
  readonly down40Seconds: number | null;
  readonly down60Seconds: number | null;
  /** A fast fall and a slow one after it; null for a fall of one slope. */
  readonly slopes: TwoSlopes | null;
  /** The grace stroke before it, 5 to 30 ms, where one is certain; null otherwise. */
  readonly flam: Flam | null;
  /** Two or three grace strokes before it, told by other strokes of its recording; null otherwise. */
  readonly drag: Drag | null;
  /** That it is the first of two to four equal strokes, told by other strokes of its recording; null otherwise. */
  readonly ratchet: Ratchet | null;
  readonly pitchHz: number | null;
  /** Pitch at the onset, and the time constant of its fall in octaves. */
  readonly pitchStartHz: number | null;
  readonly pitchFallSeconds: number | null;
  readonly centroidHz: number | null;
  readonly flatness: number | null;
  /** dB against the whole energy of the hit. */
  readonly bands: readonly Band[];
  /** From 0 to 1. */
  readonly reliability: HitValues<number>;
  /** Why a value is missing or in doubt. */
  readonly reasons: HitValues<Reason | null>;
  readonly decayFit: DecayFit | null;
}

interface HitValues<T> {
  readonly attack: T;
  readonly decay: T;
  readonly edt: T;
  readonly t20: T;
  readonly t60: T;
  readonly down20: T;
  readonly down40: T;
  readonly down60: T;
  readonly pitch: T;
}

export interface HitContext {
  /** Where the samples start in the recording. */
  readonly startSample: number;
  /** Index of the onset, and the index after the hit's last sample. */
  readonly onset: number;
  readonly end: number;
  /** Mean square of the recording at its quietest, without offset; 0 for not known. */
  readonly quiet: number;
}

/** Under this a spectrum holds drift and offset, Hz. */
export const LOWEST_HZ = 15;
/** The share of a hit's energy that lies under its slowest wave. */
const LOW_SHARE = 0.05;
/** The times of a straight fall differ by at most this. */
const STRAIGHT = 1.15;
/** A tail so far under the peak has died away: -40 dB. */
const DIED_AWAY = 0.01;
/** The assumed wavering of a level where it is not known, dB. */
const UNKNOWN_DB = 3;
const SHORTEST_HEARD = 0.02;
/** Periods of the slowest wave, or 1 ms: the longest window of `attack.ts`. */
const ATTACK_WAVES = 4;
/** With fewer steps than this the top of any wave is flat: a clipped wave has fallen by at least 9 steps of 60. */
export const FEWEST_STEPS = 60;
/** Steps this small do no harm, and may be due to rounding: -140 dB. */
const FINE = 1e-7;
/** The onset itself is known only to some samples. */
const BEFORE_ONSET = 8;
/**
 * A sound that is recorded from its beginning on comes out of silence. Of recorded hits, trimmed as tightly as their
 * editors could, 96 % begin with a sample 24 dB or more under the loudest of their first 20 ms; of the same hits cut 50
 * or 150 ms later, 93 % begin with a louder one.
 */
const INSIDE = 10 ** (-24 / 20);
const FIRST = 0.02;
/** White noise has 0.56; no tone that could be found comes near. */
const NOISE_FLATNESS = 0.4;

/** Measures hits of one recording. */
export class HitMeter {
  private readonly sampleRate: number;
  private readonly withSpectra: boolean;
  private readonly pitch: PitchMeter;
  private readonly spectrum: HitSpectrum;

  /**
   * @param sampleRate Hz.
   * @param withSpectra whether centroid, flatness and bands are wanted; without, null and none.
   */
  constructor(sampleRate: number, withSpectra = true) {
    this.sampleRate = sampleRate;
    this.withSpectra = withSpectra;
    this.pitch = new PitchMeter(sampleRate);
    this.spectrum = new HitSpectrum(sampleRate);
  }

  /** Measures one hit. @param samples the hit and some of what comes before it, without offset. */
  measure(samples: Float64Array, context: HitContext): Hit {
    const { sampleRate } = this;
    const { startSample, onset, quiet } = context;
    takeOutOffset(samples, onset, context.end, sampleRate);
    const flam = findFlam(samples, { sampleRate, onset, end: context.end, startSample });
    const end = soundEnd(samples, onset, context.end, sampleRate);
    const whole = this.spectrum.of(samples, onset, end);
    const middleHz = quantileHz(whole, 0.5, LOWEST_HZ) ?? 0;
    const stretch: HitStretch = {
      sampleRate,
      onset,
      end,
      lowHz: Math.max(LOWEST_HZ, quantileHz(whole, LOW_SHARE, LOWEST_HZ) ?? 1000),
      floor: quiet,
      before: levels(samples, 0, Math.max(0, onset - BEFORE_ONSET)).peak,
      step: stepOf(samples, onset, end, leastStep(quiet)),
    };
    const wholeFlatness = flatness(whole.power);
    const isNoise = (wholeFlatness ?? 0) > NOISE_FLATNESS;
    const clipped = clippedUntil(samples, onset, end);
    const decay = measureDecay(samples, stretch, clipped);
    const times = decayTimes(samples, stretch, decay, clipped > onset);
    const envelope = fallEnvelope(samples, stretch, decay, times.edt.value);
    const falls = fallTimes(envelope, decay.fit?.residualDb ?? UNKNOWN_DB, clipped > onset);
    const heard: HitStretch = { ...stretch, end: heardUntil(stretch, decay) };
    const pitch = isNoise ? NOISE : this.pitch.measure(samples, heard, middleHz);
    const rise = measureAttack(samples, attackOf(heard, end), pitch.hz, decay.tau.value);
    const isBegun = startSample + onset === 0 && beginsInside(samples, sampleRate);
    const attack = isBegun ? { ...rise, rise: none('cut-start') } : rise;
    const { peak, rms } = levels(samples, onset, heard.end);
    return {
      time: (startSample + onset) / sampleRate,
      peakDbfs: 20 * Math.log10(Math.max(peak, 1e-10)),
      crestDb: rms > 0 ? 20 * Math.log10(peak / rms) : 0,
      ...valuesOf(
        { attack, decay, times, falls, pitch },
        { isClipped: clipped > onset, isCoarse: peak < FEWEST_STEPS * stretch.step },
      ),
      slopes: bends(times, falls) ? twoSlopes(envelope) : null,
      flam,
      drag: null,
      ratchet: null,
      ...(this.withSpectra ? this.spectra(samples, heard, end, wholeFlatness) : NO_SPECTRA),
      decayFit: decay.fit,
    };
  }

  /** The audible part of the hit; the spectrum, as far as the end is known already. */
  private spectra(
    samples: Float64Array,
    heard: HitStretch,
    end: number,
    wholeFlatness: number | null,
  ): HitSpectra {
    const { onset } = heard;
    const isWhole = heard.end - onset >= Math.min(end - onset, this.spectrum.longest);
    const strips = isWhole ? this.spectrum.latest : this.spectrum.of(samples, onset, heard.end);
    return {
      centroidHz: centroid(strips, LOWEST_HZ),
      flatness: isWhole ? wholeFlatness : flatness(strips.power),
      bands: thirdOctaves(strips, sumOf(strips.power)),
    };
  }
}

type HitSpectra = Pick<Hit, 'centroidHz' | 'flatness' | 'bands'>;

const NO_SPECTRA: HitSpectra = { centroidHz: null, flatness: null, bands: [] };

/** Whether a recording begins in the middle of a sound, or of its first wave. */
function beginsInside(samples: Float64Array, sampleRate: number): boolean {
  const { peak } = levels(samples, 0, Math.min(samples.length, Math.round(FIRST * sampleRate)));
  return Math.abs(samples[0] as number) > INSIDE * peak;
}

/** A rise is over when the sound is loudest; smoothing over some of its waves needs a longer stretch. */
function attackOf(heard: HitStretch, end: number): HitStretch {
  const further = Math.ceil((ATTACK_WAVES * heard.sampleRate) / Math.min(1000, heard.lowHz));
  return { ...heard, end: Math.min(end, heard.end + further) };
}

/**
 * Removes the offset that is left, where the sound has died away before its end: the mean of a whole
 * recording contains some of its sound, which would look like a floor.
 */
function takeOutOffset(samples: Float64Array, onset: number, end: number, rate: number): void {
  const from = Math.max(onset, end - Math.round(ENOUGH * rate));
  const tail = levels(samples, from, end);
  const start = levels(samples, onset, Math.min(end, onset + Math.round(ENOUGH * rate)));
  if (!(tail.rms < DIED_AWAY * start.peak)) return;
  const offset = steadyLevel(samples.subarray(from, end), end - from);
  for (let n = 0; n < samples.length; n++) samples[n] = (samples[n] as number) - offset;
}

/** Whether the times of a fall differ: of one slope all give the same 60 dB. */
function bends({ edt, t20, t60 }: DecayTimes, { down20, down40, down60 }: FallTimes): boolean {
  let least = Number.POSITIVE_INFINITY;
  let most = 0;
  const see = (value: number | null, times: number) => {
    if (value === null) return;
    least = Math.min(least, times * value);
    most = Math.max(most, times * value);
  };
  for (const { value } of [edt, t20, t60, down60]) see(value, 1);
  see(down20.value, 3);
  see(down40.value, 1.5);
  return most > STRAIGHT * least;
}

interface HitParts {
  readonly attack: Attack;
  readonly decay: Decay;
  readonly times: DecayTimes;
  readonly falls: FallTimes;
  readonly pitch: Pitch;
}

function valuesOf(
  { attack, decay, times, falls, pitch }: HitParts,
  { isClipped, isCoarse }: { readonly isClipped: boolean; readonly isCoarse: boolean },
) {
  const { edt, t20, t60 } = times;
  const { down20, down40, down60 } = falls;
  const reasonOf = ({ reliability, reason }: Estimate): Reason | null => {
    if (reason === 'clipped' && isCoarse) return 'coarse';
    return reason ?? (isDoubted(reliability) ? 'unsure' : null);
  };
  // A clipped rise ends at the limit, not at the peak.
  const rise: Estimate = isClipped
    ? { ...attack.rise, reliability: attack.rise.reliability / 2, reason: 'clipped' }
    : attack.rise;
  return {
    attackSeconds: rise.value,
    toPeakSeconds: attack.toPeak,
    decayTauSeconds: decay.tau.value,
    edtSeconds: edt.value,
    t20Seconds: t20.value,
    t60Seconds: t60.value,
    down20Seconds: down20.value,
    down40Seconds: down40.value,
    down60Seconds: down60.value,
    pitchHz: pitch.hz.value,
    pitchStartHz: pitch.startHz,
    pitchFallSeconds: pitch.fallSeconds,
    reliability: {
      attack: rise.reliability,
      decay: decay.tau.reliability,
      edt: edt.reliability,
      t20: t20.reliability,
      t60: t60.reliability,
      down20: down20.reliability,
      down40: down40.reliability,
      down60: down60.reliability,
      pitch: pitch.hz.reliability,
    },
    reasons: {
      attack: reasonOf(rise),
      decay: reasonOf(decay.tau),
      edt: reasonOf(edt),
      t20: reasonOf(t20),
      t60: reasonOf(t60),
      down20: reasonOf(down20),
      down40: reasonOf(down40),
      down60: reasonOf(down60),
      pitch: reasonOf(pitch.hz),
    },
  };
}

/** Where a hit sinks into its floor, or is 30 dB down. */
function heardUntil({ onset, end, sampleRate }: HitStretch, { fit }: Decay): number {
  if (fit === null) return end;
  const db = Math.min(HEARD_DB, fit.rangeDb);
  const seconds = fit.start - onset / sampleRate + (db * fit.tau) / 8.685889638;
  return Math.min(end, onset + Math.round(Math.max(SHORTEST_HEARD, seconds) * sampleRate));
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < values.length; n++) sum += values[n] as number;
  return sum;
}

/**
 * The smallest step from one sample to the next: that of the recording's format, unless it is fine.
 * @param enough a step no larger than this need not be known better.
 */
function stepOf(samples: Float64Array, from: number, to: number, enough: number): number {
  let least = Number.POSITIVE_INFINITY;
  let last = samples[from] as number;
  for (let n = from + 1; n < to; n++) {
    const here = samples[n] as number;
    const step = here > last ? here - last : last - here;
    if (step > FINE && step < least) {
      if (step <= enough) return step;
      least = step;
    }
    last = here;
  }
  return Number.isFinite(least) ? least : 0;
}

function levels(samples: Float64Array, from: number, to: number) {
  let peak = 0;
  let squares = 0;
  for (let n = from; n < to; n++) {
    const value = samples[n] as number;
    const magnitude = value < 0 ? -value : value;
    if (magnitude > peak) peak = magnitude;
    squares += value * value;
  }
  return { peak, rms: Math.sqrt(squares / Math.max(1, to - from)) };
}
