/**
 * Finds where sounds set in, as the samples come.
 *
 * Method: in each of three bands, the power just after a moment against the power just before it; a
 * rise that chance does not explain, in any band, is an onset, and its exact sample is then looked for.
 * Source of the idea, relative rise of power band by band: A. Klapuri, Sound Onset Detection by
 * Applying Psychoacoustic Knowledge, Proc. IEEE ICASSP (1999) 3089-3092 (from memory). The thresholds
 * are our own: so many standard deviations of the same ratio for steady noise.
 */

import { OnsetBands, WHOLE } from './onset-bands.ts';
import { onsetSample } from './onset-time.ts';

export interface Onset {
  /** Index of the first sample of the sound. */
  readonly sample: number;
  /** Mean square of the loudest 5 ms in the 30 ms after it, without offset. */
  readonly power: number;
}

interface BandRule {
  /** Lower and upper border, Hz, for the statistics of noise. */
  readonly hz: readonly [number, number];
  /** Hops that are compared, before and after. */
  readonly span: number;
  /** How many standard deviations a rise must be, on top of `LEAST_RISE_DB`. */
  readonly deviations: number;
}

/** Chosen by trial on synthetic hits and noise: see the tests. */
const RULES: readonly BandRule[] = [
  { hz: [10, 200], span: 20, deviations: 3.5 },
  { hz: [200, 2000], span: 10, deviations: 4.5 },
  { hz: [2000, 20000], span: 5, deviations: 5 },
];
const LEAST_RISE_DB = 2;
const LONGEST_SPAN = 20;
/** A new onset comes at least this many hops after the last. */
const APART = 10;
/** Under this power nothing sounds: -100 dB, and 60 dB under the loudest so far. */
const SILENCE = 1e-10;
const RELATIVE_SILENCE = 1e-6;
/** A sound that breaks off clicks: where the whole falls by more than 10 dB nothing sets in. */
const BREAK_OFF = 0.1;
/** Quieter than the loudest onset by this much is crosstalk or noise, not a hit. */
const WEAKEST_DB = 50;
/** An onset stands at least this far above the quiet parts of the recording. */
const ABOVE_QUIET_DB = 6;
/** A recording that starts in the middle of steady noise starts with no onset: what does must fall. */
const START_HOPS = 5;
const START_FALL = 4;
/** How far around the rise its sample is looked for, hops. */
const BEFORE = 15;
const AFTER = 8;
/** Samples from one place to the next that the first look tries. */
const FIRST_LOOK = 4;
/** Hops that must have come before an onset is settled. */
const LATENCY = LONGEST_SPAN + APART + 12;
/** A power of two. */
const HOPS_KEPT = 128;

export class OnsetDetector {
  private readonly sampleRate: number;
  private readonly report: (sample: number) => void;
  private readonly found: Onset[] = [];
  private readonly bands: OnsetBands;
  /** What a rise must exceed in each band, dB, and the same as ratios. */
  private readonly thresholds: readonly number[];
  private readonly leastRatios: readonly number[];
  private readonly hop: number;
  /** Powers of the last hops, by band, in rings. */
  private readonly powers: readonly Float64Array[];
  private readonly rises = new Float64Array(HOPS_KEPT);
  private filled = 0;
  private hops = 0;
  private lastHop = Number.NEGATIVE_INFINITY;
  private isOver = false;
  private loudest = 0;
  private readonly quiet = new LevelCount();
  private least = Number.POSITIVE_INFINITY;
  /** The least power before the second onset. */
  private quietestStart = Number.POSITIVE_INFINITY;

  /**
   * @param sampleRate Hz.
   * @param report told of each onset's sample as soon as it is settled, about 50 ms of sound later.
   */
  constructor(sampleRate: number, report: (sample: number) => void = () => {}) {
    this.sampleRate = sampleRate;
    this.report = report;
    this.hop = Math.max(4, Math.round(sampleRate / 1000));
    this.bands = new OnsetBands(sampleRate, HOPS_KEPT * this.hop);
    this.thresholds = RULES.map(({ hz, span, deviations }) => {
      const width = Math.max(100, Math.min(hz[1], sampleRate / 2) - hz[0]);
      const freedom = Math.max(2, 2 * width * ((span * this.hop) / sampleRate));
      // 10 log10 of a mean square over `freedom` values has this deviation; a ratio has both.
      return LEAST_RISE_DB + deviations * (10 / Math.LN10) * Math.sqrt(4 / freedom);
    });
    this.leastRatios = this.thresholds.map((db) => 10 ** (db / 10));
    this.powers = Array.from({ length: 4 }, () => new Float64Array(HOPS_KEPT));
  }

  /** Takes in the first `frames` samples. */
  add(samples: Float64Array, frames: number): void {
    for (let from = 0; from < frames; ) {
      const count = Math.min(frames - from, this.hop - this.filled);
      this.bands.run(samples, from, from + count);
      this.filled += count;
      from += count;
      if (this.filled === this.hop) this.endHop();
    }
  }

  /** Mean square of the quietest 5 ms so far, without offset; 0 if that was silent or nothing came. */
  get quietest(): number {
    return Number.isFinite(this.least) ? this.least : 0;
  }

  /**
   * Ends the signal.
   * @returns the onsets in order. Those far below the loudest, and those that hardly stand out from
   * the quiet parts, are left out, though they were reported.
   */
  finish(): readonly Onset[] {
    // Silence under an offset lies at the offset: a fall to zero would be a jump.
    const silence = new Float64Array(this.hop).fill(this.bands.offset);
    this.isOver = true;
    const end = this.hops * this.hop + this.filled;
    const { quietestStart } = this;
    this.add(silence, this.hop - this.filled);
    for (let h = 0; h < LATENCY; h++) this.add(silence, this.hop);
    const strongest = this.found.reduce((most, { power }) => Math.max(most, power), 0);
    const least = Math.max(
      strongest * 10 ** (-WEAKEST_DB / 10),
      this.quiet.level(0.05) * 10 ** (ABOVE_QUIET_DB / 10),
    );
    const steadyEnd = power0(this.found) < START_FALL * quietestStart ? START_HOPS * this.hop : 0;
    return this.found.filter(
      ({ sample, power }) => sample >= steadyEnd && sample < end && power > least,
    );
  }

  private endHop(): void {
    const { bands, powers } = this;
    const slot = this.hops % HOPS_KEPT;
    bands.endHop();
    for (let b = 0; b < powers.length; b++) {
      (powers[b] as Float64Array)[slot] = bands.power[b] as number;
    }
    this.loudest = Math.max(this.loudest, bands.power[WHOLE] as number);
    this.filled = 0;
    this.hops++;
    const judged = this.hops - LONGEST_SPAN;
    if (judged >= 0) this.rises[judged % HOPS_KEPT] = this.rise(judged);
    // What follows the end is no quiet part of the recording.
    if (this.hops % 5 === 0 && !this.isOver) {
      const level = this.mean(WHOLE, this.hops - 5, this.hops);
      this.quiet.add(level);
      this.least = Math.min(this.least, level);
      if (this.found.length < 2) this.quietestStart = Math.min(this.quietestStart, level);
    }
    const candidate = this.hops - LATENCY;
    if (candidate >= 0 && this.isPeak(candidate)) this.accept(candidate);
  }

  /** By how many dB the strongest rise at a hop exceeds its threshold; 0 where none does. */
  private rise(at: number): number {
    const silence = SILENCE + this.loudest * RELATIVE_SILENCE;
    let most = 0;
    for (let b = 0; b < RULES.length; b++) {
      const { span } = RULES[b] as BandRule;
      const ratio =
        (this.mean(b, at, at + span) + silence) / (this.mean(b, at - span, at) + silence);
      // Most hops have no rise, and need no logarithm.
      if (ratio > (this.leastRatios[b] as number)) {
        most = Math.max(most, 10 * Math.log10(ratio) - (this.thresholds[b] as number));
      }
    }
    return most > 0 && this.breaksOff(at, silence) ? 0 : most;
  }

  private breaksOff(at: number, silence: number): boolean {
    // The click of a break is heard some hops ahead of it, so what comes next counts as well.
    const after = Math.min(this.mean(WHOLE, at, at + 5), this.mean(WHOLE, at + 5, at + 10));
    return after + silence < BREAK_OFF * (this.mean(WHOLE, at - 5, at) + silence);
  }

  private isPeak(at: number): boolean {
    const here = this.rises[at % HOPS_KEPT] as number;
    if (!(here > 0) || at - this.lastHop < APART) return false;
    for (let d = 1; d < APART; d++) {
      if ((this.rises[(at + d) % HOPS_KEPT] as number) > here) return false;
      if (at >= d && (this.rises[(at - d) % HOPS_KEPT] as number) >= here) return false;
    }
    return true;
  }

  private accept(at: number): void {
    const sample = this.locate(at);
    const last = this.found[this.found.length - 1];
    if (last !== undefined && sample - last.sample < (APART * this.hop) / 2) return;
    this.lastHop = at;
    const first = Math.floor(sample / this.hop);
    let power = 0;
    for (let h = first; h < first + 30; h += 2) {
      power = Math.max(power, this.mean(WHOLE, h, Math.min(h + 5, this.hops)));
    }
    this.found.push({ sample, power });
    this.report(sample);
  }

  /** The exact sample: a first look around the rise, then a closer one. */
  private locate(at: number): number {
    // Before the recording there was silence, which a sound at its very start must differ from.
    const earliest = Math.max(at - BEFORE, this.lastHop + APART / 2, this.hops - HOPS_KEPT);
    const samples = this.clearer(at);
    const origin = earliest * this.hop;
    const window = this.unrolled(samples, origin, (at + AFTER) * this.hop);
    const near = this.sampleRate / 200;
    const first = onsetSample(window, 0, window.length, FIRST_LOOK);
    const sample = onsetSample(
      window,
      Math.max(0, Math.round(first - near)),
      Math.min(window.length, Math.round(first + near / 2)),
    );
    return Math.max(0, origin + sample);
  }

  /** The signal, whole or above 2 kHz, in which the rise stands out more. */
  private clearer(at: number): Float64Array {
    const silence = SILENCE + this.loudest * RELATIVE_SILENCE;
    const contrast = (b: number) =>
      (this.mean(b, at, at + 5) + silence) / (this.mean(b, at - 5, at) + silence);
    return contrast(2) > contrast(WHOLE) ? this.bands.high : this.bands.whole;
  }

  private unrolled(ring: Float64Array, from: number, to: number): Float64Array {
    const samples = new Float64Array(to - from);
    for (let n = Math.max(0, -from); n < samples.length; n++) {
      samples[n] = ring[(from + n) % ring.length] as number;
    }
    return samples;
  }

  /** Mean power of a band over hops `from` to `to`; before the start there was silence. */
  private mean(band: number, from: number, to: number): number {
    const ring = this.powers[band] as Float64Array;
    let sum = 0;
    for (let h = from < 0 ? 0 : from; h < to; h++) sum += ring[h & (HOPS_KEPT - 1)] as number;
    return sum / (to - from);
  }
}

function power0(found: readonly Onset[]): number {
  return found[0]?.power ?? 0;
}

/** How often each level came, in steps of 1 dB: enough to tell the level of the quiet parts. */
class LevelCount {
  private readonly counts = new Float64Array(260);
  private total = 0;

  add(power: number): void {
    const db = power > 0 ? Math.round(10 * Math.log10(power)) : -200;
    const cell = Math.min(259, Math.max(0, db + 200));
    this.counts[cell] = (this.counts[cell] as number) + 1;
    this.total++;
  }

  /** The power that `share` of all were below; 0 for none. */
  level(share: number): number {
    let sum = 0;
    for (let cell = 0; cell < this.counts.length; cell++) {
      sum += this.counts[cell] as number;
      if (sum > share * this.total) return cell === 0 ? 0 : 10 ** ((cell - 200) / 10);
    }
    return 0;
  }
}
