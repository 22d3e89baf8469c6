/**
 * Random: a new voltage at each trigger, or by a clock of its own, held (stepped) and joined by
 * curves (smooth).
 *
 *   stepped = range (2 u - 1), u uniform between 0 and 1
 *   smooth  = v0 + (stepped - v0) (3 x^2 - 2 x^3), x from 0 to 1
 *
 * v0 is where smooth is when the step comes, and x takes as long as the last step took, so with a
 * steady clock smooth reaches each voltage just as the next one is drawn. Its curves are level at
 * both ends. Both outputs start at 0 V; its own clock draws the first voltage at once.
 *
 * Source: moments of the uniform distribution: Abramowitz & Stegun, Handbook of Mathematical
 * Functions, 26.1.34 (from memory); the curve is the cubic Hermite one with level ends.
 * Deviation: a circuit samples noise, whose volts cluster about zero; these are spread evenly, and
 * the patch's seed and the module's name decide them.
 */

import { type Circuit, define, type InputJack, type Site, type Values } from './definition.ts';
import { Random } from './dsp/random.ts';
import { TriggerInput } from './dsp/trigger-input.ts';
import { voltageTrigger, volts } from './facts.ts';

const settings = {
  clock: {
    type: 'choice',
    options: ['trigger', 'own'],
    fallback: 'trigger',
    about:
      'trigger: a new voltage for each trigger. own: `rate` times a second, with no trigger jack.',
  },
  rate: {
    type: 'frequency',
    min: 0.01,
    max: 1000,
    fallback: 4,
    about: 'New voltages a second; with `clock: trigger` it only paces the first curve.',
  },
  range: {
    type: 'voltage',
    min: 0,
    max: 10,
    fallback: 5,
    about: 'Highest voltage; the lowest is as far below 0 V.',
  },
} as const;

const TRIGGER: InputJack = {
  name: 'trigger',
  direction: 'in',
  signal: 'gate',
  about: 'Draws a new voltage.',
  facts: voltageTrigger(0),
};

export const random = define({
  kind: 'random',
  about: 'Random voltages, one after another: as steps, and as a curve from each to the next.',
  settings,
  jacks: ({ clock, range }) => [
    ...(clock === 'own' ? [] : [TRIGGER]),
    {
      name: 'stepped',
      direction: 'out',
      signal: 'control',
      about: 'The voltage drawn, held.',
      facts: volts(-range, range),
    },
    {
      name: 'smooth',
      direction: 'out',
      signal: 'control',
      about: 'On its way to the voltage drawn.',
      facts: volts(-range, range),
    },
  ],
  role: 'circuit',
  create: (values, site) => {
    const wires = [...['stepped', 'smooth'].map(site.heard), values.range];
    const last = site.sampleRate / values.rate;
    const seeds = site.seeds('random');
    if (values.clock === 'own') site.make('freeRandom', ...wires, last, ...seeds);
    else {
      const trigger = site.trigger('trigger');
      site.make('random', site.input('trigger'), ...wires, last, trigger, ...seeds);
    }
  },
  example: `title: Random
about: Each hit has a brightness of its own.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 10 ms, patterns: { groove: { hat: "x-xxx-x-" } }, song: [groove] }
  split: { kind: multiple }
  any:   { kind: random, range: 2 V }
  hiss:  { kind: noise, level: 2.5 V }
  tone:  { kind: filter, cutoff: 2 kHz, q: 3 }
  shape: { kind: envelope, release: 70 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hat   -> split.in
  - split.out-1 -> any.trigger
  - split.out-2 -> shape.trigger
  - any.stepped -> tone.control
  - hiss.white  -> tone.in
  - tone.band   -> level.in
  - shape.out   -> level.control
  - level.out   -> out.left
`,
});

/** Gives the part of its way that a smooth curve has gone: 0 at 0, 1 at 1, level at both. */
export function smoothPart(x: number): number {
  return x * x * (3 - 2 * x);
}

/** The curve from one voltage to the next, and the drawing of them. */
class Voltages {
  stepped = 0;
  smooth = 0;
  private readonly range: number;
  private readonly random: Random;
  private readonly joins: boolean;
  private from = 0;
  /** Part of the way that has passed, and what a sample adds to it. */
  private passed = 1;
  private share = 0;

  constructor(range: number, site: Site) {
    this.range = range;
    this.random = new Random(site.seeds('random'));
    this.joins = site.patched('smooth');
  }

  /** Draws a new voltage at this very sample, to be reached in so many samples. */
  draw(samples: number): void {
    this.stepped = this.range * (2 * this.random.uniform() - 1);
    this.from = this.smooth;
    this.passed = 0;
    this.share = 1 / samples;
  }

  get rests(): boolean {
    return !this.joins || this.passed >= 1;
  }

  /** Lets one sample go by. */
  run(): void {
    if (this.rests) return;
    this.passed += this.share;
    const part = this.passed < 1 ? smoothPart(this.passed) : 1;
    this.smooth = this.from + (this.stepped - this.from) * part;
  }
}

class FreeRandom implements Circuit {
  /** V, as is smooth. */
  stepped = 0;
  smooth = 0;
  private readonly voltages: Voltages;
  private readonly sampleRate: number;
  private readonly rate: number;
  private drawn = 0;
  private now = 0;
  private next = 0;

  constructor(values: Values<typeof settings>, site: Site) {
    this.voltages = new Voltages(values.range, site);
    this.sampleRate = site.sampleRate;
    this.rate = values.rate;
  }

  run(): void {
    this.voltages.run();
    if (this.now === this.next) {
      this.drawn += 1;
      // Worked out from the start, so that its clock does not drift.
      this.next = Math.round((this.drawn * this.sampleRate) / this.rate);
      this.voltages.draw(this.next - this.now);
    }
    this.now += 1;
    this.stepped = this.voltages.stepped;
    this.smooth = this.voltages.smooth;
  }
}

class TriggeredRandom implements Circuit {
  /** V, as is smooth. */
  stepped = 0;
  smooth = 0;
  private readonly trigger: TriggerInput;
  private readonly voltages: Voltages;
  /** Samples the last step took, and samples since. */
  private last: number;
  private since = Number.POSITIVE_INFINITY;

  constructor(values: Values<typeof settings>, site: Site) {
    this.trigger = new TriggerInput(site.input('trigger'), site.sampleRate);
    this.voltages = new Voltages(values.range, site);
    this.last = site.sampleRate / values.rate;
  }

  run(trigger: number): void {
    this.trigger.run(trigger);
    this.voltages.run();
    this.since += 1;
    if (this.trigger.rose) {
      if (this.since < Number.POSITIVE_INFINITY) this.last = this.since;
      this.since = 0;
      this.voltages.draw(this.last);
    }
    this.stepped = this.voltages.stepped;
    this.smooth = this.voltages.smooth;
  }

  rests(): boolean {
    return this.trigger.rests && this.voltages.rests;
  }

  skip(samples: number): void {
    this.since += samples;
  }
}
