/**
 * The clock output.
 *
 * - `n per quarter` is straight whatever the swing. Its pulses are counted from where the pattern
 *   began, through repeats of it, so that a pattern that is no whole number of pulses long loops
 *   without a stumble; another pattern starts the count again.
 * - `n per step` follows the steps as the pattern swings them: n equal parts of each. A line's own
 *   swing does not move it.
 * - Deviation: a pulse that would leave no low sample after the one before it is left out. It could
 *   not be seen to rise, and a clock of more than one pulse in two samples would stay high for ever.
 * - A pulse lasts 5 ms, or half the time to the next where that is less. Source of the 5 ms: common
 *   practice, no source.
 */

import { decimal, type Fixed, fixed, product, type Split, split } from './fixed.ts';
import { Grid, type StepStretch, shapeOfStep, startOfStep } from './grid.ts';
import { pulseAt, type Queue } from './pulses.ts';
import { barOfStep, type Groove } from './song.ts';

/** Length of a clock or start pulse, s. */
export const PULSE_SECONDS = 0.005;

export class Clock {
  private readonly pulse: Fixed;
  private readonly sampleRate: number;
  private readonly beatsPerBar: number;
  /** Sample at which the last pulse ends. */
  private lastEnd = -1;
  private readonly steppers = new Map<Groove, Stepper>();

  constructor(sampleRate: number, beatsPerBar: number) {
    this.sampleRate = sampleRate;
    this.beatsPerBar = beatsPerBar;
    this.pulse = fixed(product(decimal(PULSE_SECONDS), decimal(sampleRate)));
  }

  /**
   * Adds the clock pulses of a stretch to a queue.
   * @param until s; pulses from here on are left out.
   */
  play(stretch: StepStretch, until: number, queue: Queue): void {
    if (stretch.section.groove.clock.per === 'quarter') this.playQuarters(stretch, until, queue);
    else this.playSteps(stretch, until, queue);
  }

  private playQuarters(stretch: StepStretch, until: number, queue: Queue): void {
    const { section, from, to } = stretch;
    const { groove, sinceChange } = section;
    const { count } = groove.clock;
    const { stepsPerQuarter } = groove.pattern;
    const period = split(groove.quarter / BigInt(count));
    const length = this.lengthFor(groove.quarter / BigInt(count));
    // In steps since the pattern began; pulse i of a quarter is i/count of it after its start.
    const start = sinceChange + from;
    const end = sinceChange + to;
    for (let at = start - (start % stepsPerQuarter); at < end; at += stepsPerQuarter) {
      const quarter = split(startOfStep(section, at - sinceChange));
      for (let i = 0; i < count; i++) {
        const place = at * count + i * stepsPerQuarter;
        if (place < start * count) continue;
        if (place >= end * count) return;
        const step = Math.floor(place / count) - sinceChange;
        const whole = quarter.whole + i * period.whole;
        this.add(
          whole,
          quarter.fraction + i * period.fraction,
          length,
          stretch,
          step,
          until,
          queue,
        );
      }
    }
  }

  private playSteps(stretch: StepStretch, until: number, queue: Queue): void {
    const { section, from, to, start } = stretch;
    const stepper = this.stepperOf(section.groove);
    for (let step = from; step < to; step++) {
      const shape = shapeOfStep(step, section.groove.pattern.length);
      const period = stepper.periods[shape] as Split;
      const length = stepper.lengths[shape] as Split;
      for (let i = 0; i < section.groove.clock.count; i++) {
        const whole = start.whole + stepper.grid.wholeTo(step, stretch) + i * period.whole;
        const fraction =
          start.fraction + stepper.grid.fractionTo(step, stretch) + i * period.fraction;
        this.add(whole, fraction, length, stretch, step, until, queue);
      }
    }
  }

  private add(
    whole: number,
    fraction: number,
    length: Split,
    { section }: StepStretch,
    step: number,
    until: number,
    queue: Queue,
  ): void {
    if ((whole + fraction) / this.sampleRate >= until) return;
    const bar = barOfStep(section, step, this.beatsPerBar);
    const pulse = pulseAt(this.sampleRate, whole, fraction, length, 'clock', false, bar, step + 1);
    if (pulse.sample <= this.lastEnd) return;
    this.lastEnd = pulse.end;
    queue.add(pulse);
  }

  private stepperOf(groove: Groove): Stepper {
    let stepper = this.steppers.get(groove);
    if (stepper === undefined) {
      const grid = new Grid(groove.step, groove.swing);
      const periods = grid.shareOfStep({ num: 1n, den: BigInt(groove.clock.count) });
      const halves = grid.shareOfStep({ num: 1n, den: 2n * BigInt(groove.clock.count) });
      const longest = split(this.pulse);
      const lengths = halves.map((half) => (isShorter(half, longest) ? half : longest));
      stepper = { grid, periods, lengths };
      this.steppers.set(groove, stepper);
    }
    return stepper;
  }

  private lengthFor(period: Fixed): Split {
    const half = period / 2n;
    return split(half < this.pulse ? half : this.pulse);
  }
}

/** What a clock of so many pulses per step needs; lists are by the shape of the step. */
interface Stepper {
  readonly grid: Grid;
  readonly periods: readonly Split[];
  readonly lengths: readonly Split[];
}

function isShorter(a: Split, b: Split): boolean {
  return a.whole < b.whole || (a.whole === b.whole && a.fraction < b.fraction);
}
