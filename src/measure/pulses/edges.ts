/**
 * The edges of a recorded gate, block by block: when it passes half of its swing, how long it takes from
 * a tenth to nine tenths of it, and how level it stays between edges.
 *
 * Source of the reference levels (10, 50 and 90 %): IEEE Std 181-2011, 5.3 (from memory). Where a
 * transition has several samples its middle is that of a straight line through those from 20 to 80 %,
 * so that noise is averaged; otherwise of the line between the two samples that enclose it.
 */

import type { States } from './levels.ts';

/** A pulse, from where it rises. Times in samples from the start of the recording. */
export interface MeasuredPulse {
  readonly rise: Transition;
  /** Undefined of a pulse that the recording cuts off. */
  readonly fall: Transition | undefined;
  /** How much of the swing it loses while it is high, from end to end of a straight line; 0 if too short to tell. */
  readonly droop: number;
  /** How far the low after it begins under the low before it, as a share of the swing; 0 if too short to tell. */
  readonly undershoot: number;
  /** Where the high begins over the low just before it, as a share of the swing; 1 if too short to tell. */
  readonly step: number;
}

export interface Transition {
  /** Where it passes half of the swing. */
  readonly time: number;
  /** From a tenth to nine tenths of the swing, samples; under about one it is as fast as the recording can show. */
  readonly duration: number;
}

const TENTH = 0.1;
const [FIT_FROM, FIT_TO] = [0.2, 0.8];
/** The fewest samples that a line is fitted to. */
const FIT_LEAST = 4;
/** After an edge, and before it, so many samples are left out: an interface rings there, and a ramp begins. */
const SETTLED = 4;
/** The low before a pulse and after it is the mean of so many samples, which reduces noise to an eighth. */
const LOW_SAMPLES = 64;

export class EdgeMeter {
  readonly pulses: MeasuredPulse[] = [];
  /** Where the pulse falls within which the recording begins; undefined where it begins low. */
  begunFall: number | undefined;
  private readonly low: number;
  private readonly swing: number;

  private isHigh = false;
  /** Whether the recording has been low: a pulse in which it begins is not whole. */
  private hasBeenLow = false;
  private at = 0;
  private last = Number.NaN;
  private moving: Moving | undefined;
  private rise: Transition | undefined;
  private readonly top = new RunningLine();
  private fall: Transition | undefined;
  private droop = 0;
  private readonly lows = new Recent();
  private before = Number.NaN;
  private after = { sum: 0, count: 0 };

  constructor({ low, high }: States) {
    this.low = low;
    this.swing = high - low;
  }

  add(samples: Float64Array | Float32Array, count: number): void {
    for (let n = 0; n < count; n++) this.take(((samples[n] as number) - this.low) / this.swing);
  }

  /** Ends a pulse that is still open. */
  finish(): readonly MeasuredPulse[] {
    if (this.rise !== undefined) this.close();
    return this.pulses;
  }

  /** Takes a sample as a share of the swing. */
  private take(share: number): void {
    const { at, last, isHigh } = this;
    this.at = at + 1;
    this.last = share;
    // Towards the other level the share goes up, whichever way that is.
    const towards = isHigh ? 1 - share : share;
    const before = isHigh ? 1 - last : last;
    if (towards <= TENTH) {
      this.moving = undefined;
      if (!isHigh) this.hasBeenLow = true;
    } else {
      this.moving ??= new Moving(crossing(at, before, towards, TENTH));
      this.moving.add(at, before, towards);
      if (towards >= 1 - TENTH) {
        const end = crossing(at, before, towards, 1 - TENTH);
        this.arrive(this.moving.ended(end));
        return;
      }
    }
    this.stay(share);
  }

  /** At a level: the latest sample belongs to it. */
  private stay(share: number): void {
    if (this.moving !== undefined) return;
    if (this.isHigh && this.rise !== undefined) {
      if (this.at - 1 > this.rise.time + SETTLED) this.top.add(this.at - 1, share);
    } else if (!this.isHigh) {
      if (this.fall !== undefined && this.at - 1 <= this.fall.time + SETTLED) return;
      this.lows.add(share);
      const { after } = this;
      if (after.count >= LOW_SAMPLES) return;
      after.sum += share;
      after.count += 1;
    }
  }

  private arrive(transition: Transition): void {
    this.moving = undefined;
    this.isHigh = !this.isHigh;
    if (this.isHigh) {
      if (this.rise !== undefined) this.close();
      if (!this.hasBeenLow) return;
      this.rise = transition;
      this.fall = undefined;
      this.before = this.lows.mean();
      this.top.clear();
    } else if (this.rise !== undefined) {
      this.fall = transition;
      const width = transition.time - this.rise.time;
      this.droop = -this.top.slope() * width;
      this.after = { sum: 0, count: 0 };
      this.lows.clear();
    } else this.begunFall = transition.time;
  }

  private close(): void {
    const { rise, fall, before, after } = this;
    const begins = this.top.valueAt((rise as Transition).time);
    this.pulses.push({
      rise: rise as Transition,
      fall,
      droop: fall === undefined ? 0 : this.droop,
      undershoot:
        after.count < LOW_SAMPLES || Number.isNaN(before) ? 0 : before - after.sum / after.count,
      step: begins === undefined || Number.isNaN(before) ? 1 : begins - before,
    });
    this.rise = undefined;
    this.fall = undefined;
    this.droop = 0;
  }
}

/** Where between the sample before `at` and the one there a line passes `level`. */
function crossing(at: number, before: number, now: number, level: number): number {
  const way = (level - before) / (now - before);
  return way >= 0 && way <= 1 ? at - 1 + way : at;
}

/** A transition under way; shares go up. */
class Moving {
  private readonly from: number;
  private readonly line = new RunningLine();
  private half: number | undefined;

  constructor(from: number) {
    this.from = from;
  }

  add(at: number, before: number, now: number): void {
    if (now >= 0.5 && this.half === undefined) this.half = crossing(at, before, now, 0.5);
    if (now < 0.5) this.half = undefined;
    if (now >= FIT_FROM && now <= FIT_TO) this.line.add(at, now);
  }

  ended(to: number): Transition {
    const fitted = this.line.count >= FIT_LEAST ? this.line.timeOf(0.5) : undefined;
    return { time: fitted ?? this.half ?? to, duration: to - this.from };
  }
}

/** The latest samples of a low, without the very last. */
class Recent {
  private readonly values = new Float64Array(LOW_SAMPLES + SETTLED);
  private count = 0;

  clear(): void {
    this.count = 0;
  }

  add(value: number): void {
    this.values[this.count % this.values.length] = value;
    this.count += 1;
  }

  /** NaN while there are too few. */
  mean(): number {
    const { values, count } = this;
    if (count < values.length) return Number.NaN;
    let sum = 0;
    for (let n = count - values.length; n < count - SETTLED; n++)
      sum += values[n % values.length] as number;
    return sum / LOW_SAMPLES;
  }
}

/** A straight line through points, by least squares, its sums taken from its first point on. */
class RunningLine {
  count = 0;
  private first = 0;
  private x = 0;
  private y = 0;
  private xx = 0;
  private xy = 0;

  clear(): void {
    this.count = 0;
    this.x = 0;
    this.y = 0;
    this.xx = 0;
    this.xy = 0;
  }

  add(at: number, value: number): void {
    if (this.count === 0) this.first = at;
    const x = at - this.first;
    this.count += 1;
    this.x += x;
    this.y += value;
    this.xx += x * x;
    this.xy += x * value;
  }

  /** A sample; 0 of too few points. */
  slope(): number {
    const { count, x, y, xx, xy } = this;
    const spread = count * xx - x * x;
    return count < 3 || spread <= 0 ? 0 : (count * xy - x * y) / spread;
  }

  /** Undefined of too few points. */
  valueAt(time: number): number | undefined {
    if (this.count < 3) return undefined;
    const slope = this.slope();
    return (this.y - slope * this.x) / this.count + slope * (time - this.first);
  }

  /** Where it has a value; undefined of a level line. */
  timeOf(value: number): number | undefined {
    const slope = this.slope();
    if (slope <= 0) return undefined;
    return this.first + (value - (this.y - slope * this.x) / this.count) / slope;
  }
}
