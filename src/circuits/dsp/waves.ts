/**
 * Four band-limited waves of one phase, whose speed may change evenly from sample to sample.
 *
 * Whatever happens between two samples - a corner, a jump, the end of a period, the start of a new
 * one early - is placed at its own moment, and `corrections.ts` corrects the samples
 * after it. All waves come KERNEL_DELAY samples late.
 *
 * A restart changes the triangle's slope and the sine's as well as their volts, and both are corrected; the
 * change of the sine's curvature is not, which is why a fast sine under sync has some aliases.
 *
 * Source: Brandt, "Hard sync without aliasing", ICMC 2001 (jumps); Esqueda, Valimaki & Bilbao,
 * "Rounding corners with BLAMP", DAFx-16 (corners); both from memory.
 */
import { Circuit } from '../core/circuit';
import { Corrections } from './corrections';
import { quarterSine, quarterSines } from './curves';
import { putPair } from './pair';
import { toRails } from './rails';

/** V, either side of ground. */
export const SWING: f64 = 5;
/** Cycles a sample at most, so that no corner comes twice within a sample. */
export const FASTEST: f64 = 0.45;
/** In a mask of a bit for each sample, the bit that is as late as the waves are. */
const LATE: i32 = 1 << 3;
const HIGHS: i32 = 2 * LATE - 1;
/** Not a time within a sample, and a phase that is always past. */
const NO_RESTART: f64 = -1;
const AT_ONCE: f64 = -1;
const TWO_PI: f64 = 6.283185307179586;

/** Gives the triangle in phase with a sine, -1 to 1, at a phase from 0 up to 1. */
export function triangleAt(phase: f64): f64 {
  const fromCrest = phase < 0.75 ? phase - 0.25 : phase - 1.25;
  return 1 - 4 * Math.abs(fromCrest);
}

/** Gives the rising saw in phase with a sine, -1 to 1, at a phase from 0 up to 1. */
export function sawAt(phase: f64): f64 {
  return 2 * (phase < 0.5 ? phase : phase - 1);
}

/**
 * Gives the first time at which something has gone a distance, its speed changing evenly:
 * the t of speed t + change t^2 / 2 = distance.
 * @param distance over 0, and one that it does go.
 */
export function travelTime(distance: f64, speed: f64, change: f64): f64 {
  const square = speed * speed + 2 * change * distance;
  return (2 * distance) / (speed + Math.sqrt(Math.max(0, square)));
}

function wrapped(phase: f64): f64 {
  return phase < 1 ? phase : phase - 1;
}

/** Two sines at once, V. */
function sinesAt(phases: v128): v128 {
  const isLate = f64x2.ge(phases, f64x2.splat(0.75));
  const crest = v128.bitselect(f64x2.splat(1.25), f64x2.splat(0.25), isLate);
  const away = f64x2.mul(f64x2.splat(4), f64x2.abs(f64x2.sub(phases, crest)));
  const wave = quarterSines(f64x2.sub(f64x2.splat(1), away));
  return f64x2.mul(f64x2.splat(SWING), wave);
}

export abstract class Waves extends Circuit {
  /** V, as are the others. */
  sine: f64 = 0;
  triangle: f64 = 0;
  saw: f64 = 0;
  pulse: f64 = 0;

  /** Cycles a sample, now and one sample ago: between the two it changes evenly. */
  protected increment: f64 = 0;
  protected previous: f64 = NaN;
  protected readonly hasPulse: bool;
  /** Place in the block. */
  private at: i32 = 0;

  private readonly hasSine: bool;
  private readonly hasTriangle: bool;
  private readonly hasSaw: bool;
  /** What band-limiting adds to each wave. */
  private readonly sineRest: Corrections = new Corrections();
  private readonly triangleRest: Corrections = new Corrections();
  private readonly sawRest: Corrections = new Corrections();
  private readonly pulseRest: Corrections = new Corrections();

  /** Cycles, from 0 up to 1: now, and one to three samples ago (KERNEL_DELAY). */
  private phase: f64 = 0;
  private phase1: f64 = 0;
  private phase2: f64 = 0;
  private phase3: f64 = 0;
  /** The phase at which the next corner, jump or period comes. */
  private next: f64 = 0;
  /** Part of the period for which the pulse is high, now and one sample ago. */
  private width: f64;
  private widthBefore: f64;
  /** Whether the phase is under the width, a bit a sample; the lowest is this sample's. */
  private highs: i32 = HIGHS;
  /** When within the sample a new period starts, 0 to 1. */
  private restartTime: f64 = NO_RESTART;
  /** Whether one ever has: until then a sine has no corner. */
  private hasRestarted: bool = false;

  constructor(width: f64, hasSine: bool, hasTriangle: bool, hasSaw: bool, hasPulse: bool) {
    super();
    this.width = width;
    this.widthBefore = width;
    this.hasSine = hasSine;
    this.hasTriangle = hasTriangle;
    this.hasSaw = hasSaw;
    this.hasPulse = hasPulse;
    this.next = this.eventAfter();
  }

  /** Moves on by a sample, at the mean of `previous` and `increment`. */
  protected advance(at: i32): void {
    this.at = at;
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
        if (this.hasRestarted) this.sine += this.sineRest.line[at];
      }
      if (this.hasTriangle) this.triangle = SWING * wave + this.triangleRest.line[at];
    }
    if (this.hasSaw) this.saw = SWING * sawAt(phase) + this.sawRest.line[at];
    if (this.hasPulse) {
      this.highs = ((this.highs << 1) & HIGHS) | (this.phase < this.width ? 1 : 0);
      const wave = (this.highs & LATE) != 0 ? SWING : -SWING;
      // Jumps that coincide with ringing could reach 12.03 V.
      this.pulse = toRails(wave + this.pulseRest.line[at]);
    }
  }

  /**
   * Moves on by four samples where nothing but the sine is heard and no period starts early: the same
   * as `advance` four times, two at a time.
   * @param increments cycles a sample at each.
   * @param line gets the sine, V, from `at` on.
   */
  protected advanceSine(increments: StaticArray<f64>, line: StaticArray<f64>, at: i32): void {
    const first = wrapped(this.phase + 0.5 * (this.previous + increments[0]));
    const second = wrapped(first + 0.5 * (increments[0] + increments[1]));
    const third = wrapped(second + 0.5 * (increments[1] + increments[2]));
    const fourth = wrapped(third + 0.5 * (increments[2] + increments[3]));
    putPair(line, at, sinesAt(f64x2(this.phase2, this.phase1)));
    putPair(line, at + 2, sinesAt(f64x2(this.phase, first)));
    this.previous = increments[3];
    this.phase3 = first;
    this.phase2 = second;
    this.phase1 = third;
    this.phase = fourth;
  }

  /**
   * Lets the next `advance` start a new period.
   * @param time 0 to 1, from the last sample to the one to come.
   */
  protected restartAt(time: f64): void {
    this.restartTime = time;
    this.next = AT_ONCE;
  }

  /** Sets the pulse's width for the sample to come, to be called for each once it moves. */
  protected widen(width: f64): void {
    const before = this.width;
    this.widthBefore = before;
    this.width = width;
    if (width == before) return;
    const isUnder = this.phase < before;
    const willBe = this.phase + 0.5 * (this.previous + this.increment) < width;
    this.next = isUnder == willBe ? this.eventAfter() : AT_ONCE;
  }

  /** Corrects the events between the last sample and this one. */
  private pass(): void {
    if (this.restartTime == NO_RESTART) {
      this.phase = this.cover(this.phase1, 0, this.phase, 1, this.widthBefore, this.width);
    } else this.passRestart(this.restartTime);
    this.next = this.eventAfter();
  }

  /** The same, with a new period that starts at `time`, 0 to 1 from the last sample to this. */
  private passRestart(time: f64): void {
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
  private travelled(time: f64): f64 {
    return (this.previous + 0.5 * (this.increment - this.previous) * time) * time;
  }

  /** Cycles a sample at that time. */
  private speed(time: f64): f64 {
    return this.previous + (this.increment - this.previous) * time;
  }

  /** The time at which the phase has gone so far beyond where it was at `start`. */
  private timeOf(distance: f64, start: f64): f64 {
    const time = start + travelTime(distance, this.speed(start), this.increment - this.previous);
    return Math.min(time, 1);
  }

  /**
   * Corrects the events of a stretch of time within the sample.
   * @param before phase at its start, `after` at its end, where it may have come to 1 or beyond.
   * @param start of the stretch and its `end`, 0 to 1 from the last sample to this.
   * @returns the phase at its end, under 1.
   */
  private cover(before: f64, start: f64, after: f64, end: f64, widthBefore: f64, width: f64): f64 {
    this.correct(before, start, after);
    const widening: f64 = widthBefore == width ? 0 : (width - widthBefore) / (end - start);
    if (this.hasPulse) this.correctPulse(before - widthBefore, start, after - width, widening);
    if (after < 1) return after;
    if (this.hasPulse) {
      this.pulseRest.addStep(this.at, 2 * SWING, 1 - this.timeOf(1 - before, start));
      this.correctPulse(before - 1 - widthBefore, start, after - 1 - width, widening);
    }
    this.correct(before - 1, start, after - 1);
    return after - 1;
  }

  private correct(before: f64, start: f64, after: f64): void {
    if (this.hasTriangle) {
      if (before < 0.25 && after >= 0.25) this.bend(-1, this.timeOf(0.25 - before, start));
      if (before < 0.75 && after >= 0.75) this.bend(1, this.timeOf(0.75 - before, start));
    }
    if (this.hasSaw && before < 0.5 && after >= 0.5) {
      this.sawRest.addStep(this.at, -2 * SWING, 1 - this.timeOf(0.5 - before, start));
    }
  }

  /** A corner of the triangle, from its one slope to its other. */
  private bend(sign: f64, time: f64): void {
    this.triangleRest.addCorner(this.at, 8 * sign * SWING * this.speed(time), 1 - time);
  }

  /** The pulse changes where the phase overtakes the width, or the width the phase. */
  private correctPulse(before: f64, start: f64, after: f64, widening: f64): void {
    if (before < 0 == after < 0) return;
    const sign: f64 = before < 0 ? 1 : -1;
    const speed = sign * (this.speed(start) - widening);
    const change = sign * (this.increment - this.previous);
    const time = Math.min(start + travelTime(Math.abs(before), speed, change), 1);
    this.pulseRest.addStep(this.at, -2 * sign * SWING, 1 - time);
  }

  /** The jumps and bends of the waves when the phase goes from `phase` to 0. */
  private restart(phase: f64, width: f64, time: f64): void {
    const since = 1 - time;
    const slope = SWING * this.speed(time);
    const triangle = triangleAt(phase);
    if (this.hasSine) {
      const cosine = quarterSine(triangleAt(phase < 0.75 ? phase + 0.25 : phase - 0.75));
      this.sineRest.addStep(this.at, -SWING * quarterSine(triangle), since);
      this.sineRest.addCorner(this.at, TWO_PI * slope * (1 - cosine), since);
    }
    if (this.hasTriangle) {
      this.triangleRest.addStep(this.at, -SWING * triangle, since);
      if (phase >= 0.25 && phase < 0.75) this.triangleRest.addCorner(this.at, 8 * slope, since);
    }
    if (this.hasSaw) this.sawRest.addStep(this.at, -SWING * sawAt(phase), since);
    if (this.hasPulse && phase >= width) this.pulseRest.addStep(this.at, 2 * SWING, since);
  }

  private eventAfter(): f64 {
    const phase = this.phase;
    let next: f64 = 1;
    if (this.hasPulse && phase < this.width) next = this.width;
    if (this.hasSaw && phase < 0.5) next = Math.min(next, 0.5);
    if (this.hasTriangle && phase < 0.75) next = Math.min(next, phase < 0.25 ? 0.25 : 0.75);
    return next;
  }

  protected turn(): void {
    if (this.hasSine) this.sineRest.turn();
    if (this.hasTriangle) this.triangleRest.turn();
    if (this.hasSaw) this.sawRest.turn();
    if (this.hasPulse) this.pulseRest.turn();
  }
}
