/**
 * Finds where sounds begin, as the samples come: strokes down to about 10 ms apart where the level
 * clearly rises again. Of several places that rise the one that rises most is looked at, the evidence
 * for it is weighed (`stroke-evidence.ts`), and its exact sample is then looked for (`onset-time.ts`).
 */

import { ENOUGH, openingLevel } from '../steady-level.ts';
import { HOPS_KEPT, HopLevels } from './hop-levels.ts';
import { LevelCount } from './level-count.ts';
import { OnsetBands, WHOLE } from './onset-bands.ts';
import { isFloorUntil, onsetSample } from './onset-time.ts';
import { SampleSteps } from './sample-steps.ts';
import { REACH_AHEAD, RINGING, RISE_AHEAD, StrokeEvidence } from './stroke-evidence.ts';

export interface Onset {
  /** Index of the first sample of the sound. */
  readonly sample: number;
  /** Mean square of the loudest 5 ms in the 30 ms after it, or until the next, without offset. */
  readonly power: number;
}

interface OnsetWithLull extends Onset {
  /** Of the quietest 20 ms until the next, or of the last 5 ms before one that comes sooner. */
  lowest: number;
}

/** A stroke comes at least this many hops after the last. */
const APART = 8;
/** A stroke is the highest rise of so many hops before it, and of as many after it as cannot hold another stroke. */
const PEAK_BEFORE = 10;
/** Quieter than the loudest onset by this much is crosstalk or noise, not a hit. */
const WEAKEST_DB = 50;
/** An onset stands at least this far above the quiet parts of the recording. */
const ABOVE_QUIET_DB = 6;
/**
 * A recording that starts in the middle of steady noise or hum does not start with an onset: a sound
 * that does must fall under its loudest 5 ms by this much, for longer than a wave of 50 Hz takes.
 */
const START_HOPS = 5;
const START_FALL = 4;
const WAVE_HOPS = 20;
/** ... and above its steps, in squared steps; but not so far that the loudest would be near. */
const ABOVE_STEPS = 4;
const SOME = 0.01;
/** A floor is 30 dB under the loudest onset, and stays within 5 dB of the power that it begins with. */
const SOFT = 1e-3;
const STAYS = 10 ** -0.5;
/** A sound 20 dB louder than all since the last onset is not the ringing of that one. */
const FAR_LOUDER = 100;
/** How far around the rise its sample is looked for, hops. */
const BEFORE = 15;
const AFTER = 8;
/** A sound this soon after the recording's start may be its floor, hops. */
const BEGINS = 1;
/** ... and where it is already known to a hop. */
const NEAR = 4;
/** Hops of sound that are remembered: more than the evidence and `BEFORE` reach. */
const SOUND_KEPT = 128;
/** Samples from one place to the next that the first look tries. */
const FIRST_LOOK = 4;
/** The power of an onset is that of its first hops, in groups of five. */
const POWER_HOPS = 30;
const FIVE = 5;

const HIGH = 2;

export class OnsetDetector {
  private readonly sampleRate: number;
  private readonly report: (sample: number) => void;
  private readonly found: OnsetWithLull[] = [];
  private readonly hop: number;
  private readonly bands: OnsetBands;
  private readonly levels = new HopLevels();
  private readonly evidence: StrokeEvidence;
  private readonly steps = new SampleSteps();
  private readonly rises = new Float64Array(HOPS_KEPT);
  /** The start of the recording, until its offset is known. */
  private opening: Float64Array | null;
  private held = 0;
  private filled = 0;
  private isOtherStep = false;
  /** The powers after the end; null before. */
  private after: Float64Array | null = null;
  private readonly quiet = new LevelCount();
  private least = Number.POSITIVE_INFINITY;
  /** The least power over the length of a wave of hum, up to the second sound. */
  private quietestStart = Number.POSITIVE_INFINITY;

  /**
   * @param sampleRate Hz.
   * @param report called with each onset's sample as soon as it is certain, about 70 ms of sound later, in
   * order.
   */
  constructor(sampleRate: number, report: (sample: number) => void = () => {}) {
    this.sampleRate = sampleRate;
    this.report = report;
    this.hop = Math.max(4, Math.round(sampleRate / 1000));
    this.bands = new OnsetBands(sampleRate, SOUND_KEPT * this.hop);
    this.evidence = new StrokeEvidence(this.levels, sampleRate, this.hop);
    this.opening = new Float64Array(Math.ceil(ENOUGH * sampleRate));
  }

  /** Adds the first `frames` samples. */
  add(samples: Float64Array, frames: number): void {
    const { opening } = this;
    let from = 0;
    if (opening !== null) {
      from = Math.min(frames, opening.length - this.held);
      opening.set(samples.subarray(0, from), this.held);
      this.held += from;
      if (this.held < opening.length) return;
      this.open();
    }
    this.run(samples, from, frames);
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
    this.open();
    const { hop, levels } = this;
    const end = levels.count * hop + this.filled;
    const quietestStart = Number.isFinite(this.quietestStart) ? this.quietestStart : this.quietest;
    // The sound at the end is continued: a fall to silence would click.
    this.after = Float64Array.from({ length: WHOLE + 1 }, (_, b) =>
      levels.mean(b, levels.count - FIVE, levels.count),
    );
    const silence = new Float64Array(hop).fill(this.bands.offset);
    this.run(silence, 0, hop - this.filled);
    for (let h = 0; h < REACH_AHEAD; h++) this.run(silence, 0, hop);
    const strongest = this.found.reduce((most, { power }) => Math.max(most, power), 0);
    const least = Math.max(
      strongest * 10 ** (-WEAKEST_DB / 10),
      this.quiet.level(0.05) * 10 ** (ABOVE_QUIET_DB / 10),
      Math.min(ABOVE_STEPS * this.steps.size ** 2, SOME * strongest),
    );
    const steadyEnd = power0(this.found) < START_FALL * quietestStart ? START_HOPS * hop : 0;
    return this.found.filter(
      (onset) =>
        onset.sample >= steadyEnd &&
        onset.sample < end &&
        onset.power > least &&
        !isFloor(onset, strongest),
    );
  }

  /** Processes the samples held back at the start, whose offset is now known. */
  private open(): void {
    const { opening, held } = this;
    if (opening === null) return;
    this.opening = null;
    this.bands.offset = openingLevel(opening, held, this.sampleRate);
    this.run(opening, 0, held);
  }

  private run(samples: Float64Array, from: number, to: number): void {
    for (let at = from; at < to; ) {
      const count = Math.min(to - at, this.hop - this.filled);
      // Samples after the end are not a part of the recording.
      const isOther = this.after === null && this.steps.add(samples, at, at + count);
      if (isOther) this.isOtherStep = true;
      this.bands.run(samples, at, at + count);
      this.filled += count;
      at += count;
      if (this.filled === this.hop) this.endHop();
    }
  }

  private endHop(): void {
    const { bands, levels, rises } = this;
    bands.endHop();
    this.filled = 0;
    let isOtherSilence = levels.add(this.after ?? bands.power);
    if (this.isOtherStep) {
      levels.step = this.steps.size;
      this.isOtherStep = false;
      isOtherSilence = true;
    }
    const { count } = levels;
    const candidate = count - REACH_AHEAD;
    const newest = count - RISE_AHEAD;
    // Rises are compared with one another, so one silence must do for all of them.
    const first = isOtherSilence ? candidate - PEAK_BEFORE : newest;
    for (let at = Math.max(0, first); at <= newest; at++) {
      rises[at % HOPS_KEPT] = this.evidence.rise(at);
    }
    // Samples after the end are not a quiet part of the recording.
    if (count % FIVE === 0 && this.after === null) {
      const level = levels.mean(WHOLE, count - FIVE, count);
      this.quiet.add(level);
      this.least = Math.min(this.least, level);
      if (this.isStart() && count >= WAVE_HOPS) {
        const steady = levels.mean(WHOLE, count - WAVE_HOPS, count);
        this.quietestStart = Math.min(this.quietestStart, steady);
      }
    }
    if (candidate >= 0) this.judge(candidate);
  }

  /** Whether only the first sound has begun so far, of however many strokes. */
  private isStart(): boolean {
    const first = this.found[0]?.sample ?? 0;
    const last = this.found[this.found.length - 1]?.sample ?? 0;
    return last - first < RINGING * this.hop;
  }

  private judge(at: number): void {
    const last = this.found[this.found.length - 1];
    let since =
      last === undefined ? Number.POSITIVE_INFINITY : at - Math.ceil(last.sample / this.hop);
    if (last !== undefined) this.followTo(at, since, last);
    if (since < APART) return;
    if (since < RINGING && this.isFarLouder(at, since)) since = RINGING;
    if (this.isPeak(at) && this.evidence.isStroke(at, since)) this.accept(this.locate(at));
    else if (since < RINGING) {
      const hop = this.evidence.again(at, since);
      if (hop !== null) this.accept(this.locateNear(hop));
    }
  }

  /** Keeps the lowest power after the last onset. */
  private followTo(at: number, since: number, last: OnsetWithLull): void {
    if (since < APART) return;
    const { levels } = this;
    const hops = since < WAVE_HOPS ? FIVE : WAVE_HOPS;
    const level = levels.mean(WHOLE, at - hops, at);
    if (since > WAVE_HOPS && level >= last.lowest) return;
    last.lowest = level;
  }

  private isFarLouder(at: number, since: number): boolean {
    const { levels } = this;
    const after = levels.mean(WHOLE, at + 1, at + FIVE);
    for (let h = at - since + 1; h < at - 1; h += 2) {
      if (after < FAR_LOUDER * (levels.mean(WHOLE, h, h + 2) + levels.silence)) return false;
    }
    return true;
  }

  private isPeak(at: number): boolean {
    const { rises } = this;
    const here = rises[at % HOPS_KEPT] as number;
    if (!(here > 0)) return false;
    for (let d = 1; d < APART; d++) {
      if ((rises[(at + d) % HOPS_KEPT] as number) > here) return false;
    }
    for (let d = 1; d < PEAK_BEFORE && d <= at; d++) {
      if ((rises[(at - d) % HOPS_KEPT] as number) >= here) return false;
    }
    return true;
  }

  private accept(sample: number): void {
    const last = this.found[this.found.length - 1];
    const first = Math.floor(sample / this.hop);
    if (last !== undefined) {
      if (sample - last.sample < (APART * this.hop) / 2) return;
      const before = Math.floor(last.sample / this.hop);
      if (first - before < POWER_HOPS) {
        // Some of the power taken for the last belongs to this one.
        const power = this.powerOf(before, first);
        this.found[this.found.length - 1] = { ...last, power };
      }
    }
    const power = this.powerOf(first, first + POWER_HOPS);
    this.found.push({ sample, power, lowest: power });
    this.report(sample);
  }

  private powerOf(first: number, end: number): number {
    const { levels } = this;
    let power = 0;
    for (let h = first; h < end; h += 2) {
      power = Math.max(power, levels.mean(WHOLE, h, Math.min(h + FIVE, end, levels.count)));
    }
    return power;
  }

  /** The exact sample: a first look around the rise, then a closer one. */
  private locate(at: number): number {
    const { hop, levels, sampleRate } = this;
    const last = this.found[this.found.length - 1];
    // Before the recording there was silence, which a sound at its very start must differ from.
    const earliest = Math.max(
      at - BEFORE,
      last === undefined ? Number.NEGATIVE_INFINITY : Math.ceil(last.sample / hop) + APART / 2,
    );
    const origin = earliest * hop;
    const isHigh = levels.ratio(HIGH, at, FIVE, FIVE) > levels.ratio(WHOLE, at, FIVE, FIVE);
    const window = this.unrolled(isHigh, origin, (at + AFTER) * hop);
    const sample = origin + lookTwice(window, sampleRate);
    if (origin > 0 || sample > BEGINS * hop) return sample;
    return this.afterFloor(at, isHigh) ?? Math.max(0, sample);
  }

  /** What rises out of that silence may be the recording's floor: then the sound begins soon after; null if not. */
  private afterFloor(at: number, isHigh: boolean): number | null {
    for (const band of [isHigh, !isHigh])
      for (const further of [AFTER, PEAK_BEFORE + AFTER]) {
        const begun = this.unrolled(band, 0, (at + further) * this.hop);
        const first = lookTwice(begun, this.sampleRate);
        if (isFloorUntil(begun, first)) return first;
      }
    return null;
  }

  /** The exact sample of a stroke that begins during a hop, or just beside it. */
  private locateNear(at: number): number {
    const { hop, levels } = this;
    const last = this.found[this.found.length - 1] as Onset;
    const earliest = Math.max(at - NEAR, Math.ceil(last.sample / hop) + 2);
    // How much it stands out, without the hop itself; above 2 kHz waves are short and show more.
    const contrast = (b: number) =>
      Math.log(
        (levels.mean(b, at + 1, at + NEAR) + levels.silence) /
          (levels.mean(b, at - NEAR, at) + levels.silence),
      );
    const isHigh = contrast(HIGH) > contrast(WHOLE) / 2;
    const window = this.unrolled(isHigh, earliest * hop, (at + NEAR + 1) * hop);
    return earliest * hop + onsetSample(window, 0, window.length);
  }

  /** The samples `from` to `to`, without offset: whole, or their part above 2 kHz. */
  private unrolled(isHigh: boolean, from: number, to: number): Float64Array {
    const ring = isHigh ? this.bands.high : this.bands.whole;
    const samples = new Float64Array(to - from);
    for (let n = Math.max(0, -from); n < samples.length; n++) {
      samples[n] = ring[(from + n) % ring.length] as number;
    }
    return samples;
  }
}

/** A first look for the sound in a window, then a closer one around what that finds. */
function lookTwice(window: Float64Array, sampleRate: number): number {
  const near = sampleRate / 200;
  const first = onsetSample(window, 0, window.length, FIRST_LOOK);
  return onsetSample(
    window,
    Math.max(0, Math.round(first - near)),
    Math.min(window.length, Math.round(first + near / 2)),
  );
}

/** Whether a sound begins soft and does not fall: hiss or hum that ends the silence of a recording. */
function isFloor({ power, lowest }: OnsetWithLull, strongest: number): boolean {
  return power < SOFT * strongest && lowest > STAYS * power;
}

function power0(found: readonly Onset[]): number {
  return found[0]?.power ?? 0;
}
