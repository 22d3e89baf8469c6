/**
 * Slew limiter: the output follows the input, but takes its time, up and down apart.
 *
 *   exponential   v(t) = in + (v0 - in) exp(-t / tau), tau = time / 5
 *   linear        v(t) = v0 +- (5 V / time) t, until it is there
 *
 * So `rise` and `fall` are the time for 99.3 % of any step (exponential) or for 5 V (linear). A
 * step's own sample shows the voltage of that moment; every sample after it is the closed form at
 * its own time, the input having held its volts in between. At 0 s the output is the input.
 *
 * Source: RC charge and discharge: Horowitz & Hill, The Art of Electronics, 1.4.2 (from memory).
 * Five time constants, and 5 V for the linear time: common practice, no source.
 * Deviation: the change from rising to falling is abrupt; a circuit's diodes round it a little.
 */

import { type Circuit, define, type Site, type Values } from './definition.ts';
import { exp } from './dsp/math.ts';
import { toRails } from './dsp/rails.ts';
import { plain, volts } from './facts.ts';

/** Time constants in a rise or a fall. */
const CONSTANTS = 5;
/** V that the linear curve moves in the time set. */
const SPAN = 5;
/** V. Smaller is nothing to hear, and numbers far smaller slow a processor down. */
const NOTHING = 1e-15;

const settings = {
  rise: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.05,
    timeConstants: CONSTANTS,
    about: 'Time to rise: exponential, 5 time constants; linear, the time for 5 V.',
  },
  fall: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.05,
    timeConstants: CONSTANTS,
    about: 'Time to fall, likewise.',
  },
  curve: {
    type: 'choice',
    options: ['exponential', 'linear'],
    fallback: 'exponential',
    about: 'exponential: slower as it nears the input. linear: so many volts a second.',
  },
} as const;

export const slew = define({
  kind: 'slew',
  about:
    'A slew limiter: makes jumps into glides. On a pitch it is portamento, on a gate a plain ' +
    'envelope, on audio a soft low-pass.',
  settings,
  jacks: () => [
    {
      name: 'in',
      direction: 'in',
      signal: 'control',
      about: 'What is followed.',
      facts: plain(),
    },
    {
      name: 'out',
      direction: 'out',
      signal: 'control',
      about: 'The input, slowed down.',
      facts: volts(-5, 5),
    },
  ],
  role: 'circuit',
  create: (values, site) =>
    values.curve === 'linear' ? new LinearSlew(values, site) : new ExponentialSlew(values, site),
  example: `title: Slew limiter
about: A gate made into an envelope - a quick rise and a slow fall.
modules:
  drums: { kind: rhythm, tempo: 110 bpm, channels: [hat], gate: 20 ms, patterns: { groove: { hat: "x-x-x-xx" } }, song: [groove] }
  shape: { kind: slew, rise: 5 ms, fall: 180 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hat  -> shape.in
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`,
});

/** Gives the part of the way to the input that is covered in one sample: 1 - exp(-5 / samples). */
export function exponentialShare(samples: number): number {
  return samples > 0 ? 1 - exp(-CONSTANTS / samples) : 1;
}

class ExponentialSlew implements Circuit {
  out = 0;
  private readonly rise: number;
  private readonly fall: number;
  /** The input one sample ago. */
  private held = 0;
  /** V, what `out` goes on from. */
  private reached = 0;

  constructor(values: Values<typeof settings>, site: Site) {
    this.rise = exponentialShare(values.rise * site.sampleRate);
    this.fall = exponentialShare(values.fall * site.sampleRate);
  }

  run(input: number): void {
    const aim = toRails(input);
    const way = this.held - this.reached;
    let out = this.reached + way * (way > 0 ? this.rise : this.fall);
    if (aim > out) {
      if (this.rise === 1) out = aim;
    } else if (this.fall === 1) out = aim;
    this.out = out;
    this.reached = out;
    this.held = aim;
  }

  rests(): boolean {
    return this.out === this.held && this.reached === this.held;
  }

  settle(): void {
    if (Math.abs(this.reached) < NOTHING) this.reached = 0;
  }
}

class LinearSlew implements Circuit {
  out = 0;
  /** V a sample at most. */
  private readonly rise: number;
  private readonly fall: number;
  /** The input one sample ago. */
  private held = 0;

  constructor(values: Values<typeof settings>, site: Site) {
    // At 0 s it is infinite: no limit.
    this.rise = SPAN / (values.rise * site.sampleRate);
    this.fall = SPAN / (values.fall * site.sampleRate);
  }

  run(input: number): void {
    const aim = toRails(input);
    let out = this.held;
    if (out > this.out + this.rise) out = this.out + this.rise;
    else if (out < this.out - this.fall) out = this.out - this.fall;
    if (aim > out) {
      if (this.rise === Number.POSITIVE_INFINITY) out = aim;
    } else if (this.fall === Number.POSITIVE_INFINITY) out = aim;
    this.out = out;
    this.held = aim;
  }

  rests(): boolean {
    return this.out === this.held;
  }
}
