/** Everything that is measured of one hit. */

import { type Attack, measureAttack } from './attack.ts';
import { type Band, thirdOctaves } from './bands.ts';
import { clippedUntil } from './clipping.ts';
import { type Decay, measureDecay, type Stretch } from './decay.ts';
import type { DecayFit } from './envelope-fit.ts';
import type { Estimate, Reason } from './estimate.ts';
import { NOISE, type Pitch, PitchMeter } from './pitch.ts';
import {
  binEdges,
  centroid,
  flatness,
  Periodogram,
  quantileHz,
  rectangular,
  type Strips,
} from './spectrum.ts';

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
  readonly t60Seconds: number | null;
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
const LOWEST_HZ = 15;
/** The share of a hit's energy that lies under its slowest wave. */
const LOW_SHARE = 0.05;
/** A hit is heard until it has fallen by this, dB, or to its floor. */
const HEARD_DB = 30;
/** The spectrum of a hit is taken of its first 170 ms or so: a power of two of samples. */
const SPECTRUM_SECONDS = 0.17;
/** ... whose last quarter fades out. */
const FADED = 0.25;
const SHORTEST_HEARD = 0.02;
/** White noise has 0.56; no tone that could be found comes near. */
const NOISE_FLATNESS = 0.4;

/** Measures hits of one recording. */
export class HitMeter {
  private readonly sampleRate: number;
  private readonly pitch: PitchMeter;
  private readonly periodogram: Periodogram;
  private readonly frame: Float64Array;
  private readonly edges: Float64Array;

  /** @param sampleRate Hz. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    this.pitch = new PitchMeter(sampleRate);
    const size = 2 ** Math.max(6, Math.round(Math.log2(SPECTRUM_SECONDS * sampleRate)));
    this.periodogram = new Periodogram(rectangular(size));
    this.frame = new Float64Array(size);
    this.edges = binEdges(size / 2 + 1, sampleRate);
  }

  /** Measures one hit. @param samples the hit and some of what comes before it, without offset. */
  measure(samples: Float64Array, context: HitContext): Hit {
    const { sampleRate } = this;
    const { onset, end, quiet } = context;
    const roughly = this.spectrum(samples, onset, end);
    const stretch: Stretch = {
      sampleRate,
      onset,
      end,
      lowHz: Math.max(LOWEST_HZ, quantileHz(roughly, LOW_SHARE, LOWEST_HZ) ?? 1000),
      floor: quiet,
    };
    const roughFlatness = flatness(roughly.power);
    const isNoise = (roughFlatness ?? 0) > NOISE_FLATNESS;
    const clipped = clippedUntil(samples, onset, end);
    const decay = measureDecay(samples, stretch, clipped);
    const heard: Stretch = { ...stretch, end: heardUntil(stretch, decay) };
    const pitch = isNoise ? NOISE : this.pitch.measure(samples, heard);
    const attack = measureAttack(samples, stretch, pitch.hz.value);
    const isWhole = Math.min(end, heard.end) - onset >= Math.min(end - onset, this.frame.length);
    const strips = isWhole ? roughly : this.spectrum(samples, onset, heard.end);
    const total = strips.power.reduce((a, b) => a + b, 0);
    const { peak, rms } = levels(samples, onset, heard.end);
    return {
      time: (context.startSample + onset) / sampleRate,
      peakDbfs: 20 * Math.log10(Math.max(peak, 1e-10)),
      crestDb: rms > 0 ? 20 * Math.log10(peak / rms) : 0,
      ...valuesOf(attack, decay, pitch, clipped > onset),
      centroidHz: centroid(strips, LOWEST_HZ),
      flatness: isWhole ? roughFlatness : flatness(strips.power),
      bands: thirdOctaves(strips, total),
      decayFit: decay.fit,
    };
  }

  /** The energy of the samples `from` to `to`, as many as fit, faded out; valid until the next call. */
  private spectrum(samples: Float64Array, from: number, to: number): Strips {
    const { frame, periodogram } = this;
    const count = Math.min(to - from, frame.length);
    const fade = Math.floor(count * FADED);
    frame.fill(0);
    for (let n = 0; n < count; n++) {
      const left = count - n;
      const weight = left > fade ? 1 : Math.sin(((left - 0.5) / fade) * (Math.PI / 2)) ** 2;
      frame[n] = (samples[from + n] as number) * weight;
    }
    periodogram.energy.fill(0);
    periodogram.add(frame);
    return { edges: this.edges, power: periodogram.energy };
  }
}

function valuesOf(attack: Attack, decay: Decay, pitch: Pitch, isClipped: boolean) {
  // A clipped rise ends at the limit, not at the peak.
  const rise: Estimate = isClipped
    ? { ...attack.rise, reliability: attack.rise.reliability / 2, reason: 'clipped' }
    : attack.rise;
  return {
    attackSeconds: rise.value,
    toPeakSeconds: attack.toPeak,
    decayTauSeconds: decay.tau.value,
    t60Seconds: decay.t60.value,
    pitchHz: pitch.hz.value,
    pitchStartHz: pitch.startHz,
    pitchFallSeconds: pitch.fallSeconds,
    reliability: {
      attack: rise.reliability,
      decay: decay.tau.reliability,
      pitch: pitch.hz.reliability,
    },
    reasons: { attack: rise.reason, decay: decay.tau.reason, pitch: pitch.hz.reason },
  };
}

/** Where a hit sinks into its floor, or is 30 dB down. */
function heardUntil({ onset, end, sampleRate }: Stretch, { fit }: Decay): number {
  if (fit === null) return end;
  const db = Math.min(HEARD_DB, fit.rangeDb);
  const seconds = fit.start - onset / sampleRate + (db * fit.tau) / 8.685889638;
  return Math.min(end, onset + Math.round(Math.max(SHORTEST_HEARD, seconds) * sampleRate));
}

function levels(samples: Float64Array, from: number, to: number) {
  let peak = 0;
  let squares = 0;
  for (let n = from; n < to; n++) {
    const value = samples[n] as number;
    peak = Math.max(peak, Math.abs(value));
    squares += value * value;
  }
  return { peak, rms: Math.sqrt(squares / Math.max(1, to - from)) };
}
