/**
 * Four band-limited waves of one phase, whose speed may change evenly from sample to sample.
 *
 * Whatever happens between two samples - a corner, a jump, the end of a period, the start of a new
 * one out of turn - is placed at its own moment, and `dsp/band-limited-step.ts` corrects the samples
 * after it. All waves come KERNEL_DELAY samples late.
 *
 * A restart changes the triangle's slope and the sine's as well as their volts, and both are made
 * good; the change of the sine's curvature is not, which is what folds of a fast sine under sync.
 *
 * Source: Brandt, "Hard sync without aliasing", ICMC 2001 (jumps); Esqueda, Valimaki & Bilbao,
 * "Rounding corners with BLAMP", DAFx-16 (corners); both from memory.
 */

import type { Site } from '../definition.ts';
import { KERNEL_DELAY } from './band-limited-kernel.ts';
import { Corrections } from './band-limited-step.ts';
import { quarterSine } from './quarter-sine.ts';
import { toRails } from './rails.ts';

/** V, either side of ground. */
export const SWING = 5;
/** Cycles a sample at most, so that no corner comes twice within a sample. */
export const FASTEST = 0.45;
/** Of a bit a sample, the one that is as late as the waves are. */
const LATE = 1 << KERNEL_DELAY;
const HIGHS = 2 * LATE - 1;
/** No time within a sample, and a phase that is always past. */
const NO_RESTART = -1;
const AT_ONCE = -1;
const TWO_PI = 6.283185307179586;

/** Gives the triangle in phase with a sine, -1 to 1, at a phase from 0 up to 1. */
export function triangleAt(phase: number): number {
  const fromCrest = phase < 0.75 ? phase - 0.25 : phase - 1.25;
  return 1 - 4 * Math.abs(fromCrest);
}

/** Gives the rising saw in phase with a sine, -1 to 1, at a phase from 0 up to 1. */
export function sawAt(phase: number): number {
  return 2 * (phase < 0.5 ? phase : phase - 1);
}

/**
 * Gives the first time at which something has gone a distance, its speed changing evenly:
 * the t of speed t + change t^2 / 2 = distance.
 * @param distance over 0, and one that it does go.
 */
export function travelTime(distance: number, speed: number, change: number): number {
  const square = speed * speed + 2 * change * distance;
  return (2 * distance) / (speed + Math.sqrt(Math.max(0, square)));
}

export class Waves {
  /** V, as are the others. */
  sine = 0;
  triangle = 0;
  saw = 0;
  pulse = 0;

  /** Cycles a sample, now and one sample ago: between the two it changes evenly. */
  protected increment = 0;
  protected previous = Number.NaN;
  protected readonly hasPulse: boolean;

  private readonly hasSine: boolean;
  private readonly hasTriangle: boolean;
  private readonly hasSaw: boolean;
  /** What band-limiting adds to each wave. */
  private readonly sineRest = new Corrections();
  private readonly triangleRest = new Corrections();
  private readonly sawRest = new Corrections();
  private readonly pulseRest = new Corrections();

  /** Cycles, from 0 up to 1: now, and one to three samples ago (KERNEL_DELAY). */
  private phase = 0;
  private phase1 = 0;
  private phase2 = 0;
  private phase3 = 0;
  /** The phase at which the next corner, jump or period comes. */
  private next = 0;
  /** Part of the period for which the pulse is high, now and one sample ago. */
  private width: number;
  private widthBefore: number;
  /** Whether the phase is under the width, a bit a sample; the lowest is this sample's. */
  private highs = HIGHS;
  /** When within the sample a new period starts, 0 to 1. */
  private restartTime = NO_RESTART;
  /** Whether one ever has: until then a sine has no corner. */
  private hasRestarted = false;

  constructor(width: number, site: Site) {
    this.width = width;
    this.widthBefore = width;
    this.hasSine = site.patched('sine');
    this.hasTriangle = site.patched('triangle');
    this.hasSaw = site.patched('saw');
    this.hasPulse = site.patched('pulse');
    this.next = this.eventAfter();
  }

  /** Moves on by a sample, at the mean of `previous` and `increment`. */
  protected advance(): void {
    this.phase3 = this.phase2;
    this.phase2 = this.phase1;
    this.phase1 = this.phase;
    this.phase += 0.5 * (this.previous + this.increment);
    if (this.phase >= this.next) this.pass();
    this.previous = this.increment;

    const phase = this.phase3;
    if (this.hasSine || this.hasTriangle) {
      const wave = triangleAt(phase);
      if (this.hasSine) {
        this.sine = SWING * quarterSine(wave);
        if (this.hasRestarted) this.sine += this.sineRest.take();
      }
      if (this.hasTriangle) this.triangle = SWING * wave + this.triangleRest.take();
    }
    if (this.hasSaw) this.saw = SWING * sawAt(phase) + this.sawRest.take();
    if (this.hasPulse) {
      this.highs = ((this.highs << 1) & HIGHS) | (this.phase < this.width ? 1 : 0);
      const wave = (this.highs & LATE) !== 0 ? SWING : -SWING;
      // Jumps that fall together with the ringing could come to 12.03 V.
      this.pulse = toRails(wave + this.pulseRest.take());
    }
  }

  /**
   * Lets the next `advance` start a new period.
   * @param time 0 to 1, from the last sample to the one to come.
   */
  protected restartAt(time: number): void {
    this.restartTime = time;
    this.next = AT_ONCE;
  }

  /** Sets the pulse's width for the sample to come, to be called for each once it moves. */
  protected widen(width: number): void {
    const before = this.width;
    this.widthBefore = before;
    this.width = width;
    if (width === before) return;
    const isUnder = this.phase < before;
    const willBe = this.phase + 0.5 * (this.previous + this.increment) < width;
    this.next = isUnder === willBe ? this.eventAfter() : AT_ONCE;
  }

  /** Makes good the events between the last sample and this one. */
  private pass(): void {
    if (this.restartTime === NO_RESTART) {
      this.phase = this.cover(this.phase1, 0, this.phase, 1, this.widthBefore, this.width);
    } else this.passRestart(this.restartTime);
    this.next = this.eventAfter();
  }

  /** The same, with a new period that starts at `time`, 0 to 1 from the last sample to this. */
  private passRestart(time: number): void {
    const width = this.widthBefore + (this.width - this.widthBefore) * time;
    const reached = this.phase1 + this.travelled(time);
    const last = this.cover(this.phase1, 0, reached, time, this.widthBefore, width);
    this.restart(last, width, time);
    const since = this.travelled(1) - this.travelled(time);
    this.phase = this.cover(0, time, since, 1, width, this.width);
    this.restartTime = NO_RESTART;
    this.hasRestarted = true;
  }

  /** Cycles from the last sample to `time` after it, 0 to 1: the frequency changes evenly. */
  private travelled(time: number): number {
    return (this.previous + 0.5 * (this.increment - this.previous) * time) * time;
  }

  /** Cycles a sample at that time. */
  private speed(time: number): number {
    return this.previous + (this.increment - this.previous) * time;
  }

  /** The time at which the phase has gone so far beyond where it was at `start`. */
  private timeOf(distance: number, start: number): number {
    const time = start + travelTime(distance, this.speed(start), this.increment - this.previous);
    return Math.min(time, 1);
  }

  /**
   * Makes good the events of a stretch of time within the sample.
   * @param before phase at its start, `after` at its end, where it may have come to 1 or beyond.
   * @param start of the stretch and its `end`, 0 to 1 from the last sample to this.
   * @returns the phase at its end, under 1.
   */
  private cover(
    before: number,
    start: number,
    after: number,
    end: number,
    widthBefore: number,
    width: number,
  ): number {
    this.correct(before, start, after);
    const widening = widthBefore === width ? 0 : (width - widthBefore) / (end - start);
    if (this.hasPulse) this.correctPulse(before - widthBefore, start, after - width, widening);
    if (after < 1) return after;
    if (this.hasPulse) {
      this.pulseRest.addStep(2 * SWING, 1 - this.timeOf(1 - before, start));
      this.correctPulse(before - 1 - widthBefore, start, after - 1 - width, widening);
    }
    this.correct(before - 1, start, after - 1);
    return after - 1;
  }

  private correct(before: number, start: number, after: number): void {
    if (this.hasTriangle) {
      if (before < 0.25 && after >= 0.25) this.bend(-1, this.timeOf(0.25 - before, start));
      if (before < 0.75 && after >= 0.75) this.bend(1, this.timeOf(0.75 - before, start));
    }
    if (this.hasSaw && before < 0.5 && after >= 0.5) {
      this.sawRest.addStep(-2 * SWING, 1 - this.timeOf(0.5 - before, start));
    }
  }

  /** A corner of the triangle, from its one slope to its other. */
  private bend(sign: number, time: number): void {
    this.triangleRest.addCorner(8 * sign * SWING * this.speed(time), 1 - time);
  }

  /** The pulse changes where the phase overtakes the width, or the width the phase. */
  private correctPulse(before: number, start: number, after: number, widening: number): void {
    if (before < 0 === after < 0) return;
    const sign = before < 0 ? 1 : -1;
    const speed = sign * (this.speed(start) - widening);
    const change = sign * (this.increment - this.previous);
    const time = Math.min(start + travelTime(Math.abs(before), speed, change), 1);
    this.pulseRest.addStep(-2 * sign * SWING, 1 - time);
  }

  /** What the waves jump and bend by when the phase goes from `phase` to 0. */
  private restart(phase: number, width: number, time: number): void {
    const since = 1 - time;
    const slope = SWING * this.speed(time);
    const triangle = triangleAt(phase);
    if (this.hasSine) {
      const cosine = quarterSine(triangleAt(phase < 0.75 ? phase + 0.25 : phase - 0.75));
      this.sineRest.addStep(-SWING * quarterSine(triangle), since);
      this.sineRest.addCorner(TWO_PI * slope * (1 - cosine), since);
    }
    if (this.hasTriangle) {
      this.triangleRest.addStep(-SWING * triangle, since);
      if (phase >= 0.25 && phase < 0.75) this.triangleRest.addCorner(8 * slope, since);
    }
    if (this.hasSaw) this.sawRest.addStep(-SWING * sawAt(phase), since);
    if (this.hasPulse && phase >= width) this.pulseRest.addStep(2 * SWING, since);
  }

  private eventAfter(): number {
    const phase = this.phase;
    let next = 1;
    if (this.hasPulse && phase < this.width) next = this.width;
    if (this.hasSaw && phase < 0.5) next = Math.min(next, 0.5);
    if (this.hasTriangle && phase < 0.75) next = Math.min(next, phase < 0.25 ? 0.25 : 0.75);
    return next;
  }
}
