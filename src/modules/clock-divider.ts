/**
 * Clock divider and multiplier.
 *
 *   divided, by-2 ...   high with every nth clock pulse, for as long as that pulse is
 *   multiplied          n pulses from each clock to the next, evenly; each is high half its time
 *
 * The first clock, and the first after a reset, is number one and gives a pulse at every divided
 * output: the downbeat. A reset and a clock at the same sample: the clock is number one.
 *
 * The multiplier spaces its pulses by the time between the last two clocks, so it is silent until
 * the second clock; a reset does not concern it. It starts afresh with every clock, early or late.
 * After a pause the first two clocks are far apart, and so are its pulses until the third.
 *
 * Source: counting; the downbeat rule is common practice, no source.
 * Deviation: the multiplier's pulses lie on the nearest sample, each worked out from its clock.
 */

import { type Circuit, define, type OutputJack, type Site, type Values } from './definition.ts';
import { TriggerInput } from './dsp/trigger-input.ts';
import { voltageTrigger, volts } from './facts.ts';
import { gateLevel } from './gate-level.ts';

const settings = {
  divide: {
    type: 'count',
    min: 1,
    max: 64,
    fallback: 4,
    about: 'Clocks from one pulse of divided to the next.',
  },
  multiply: {
    type: 'count',
    min: 1,
    max: 16,
    fallback: 2,
    about: 'Pulses of multiplied for each clock.',
  },
  level: gateLevel,
} as const;

export const clockDivider = define({
  kind: 'clock-divider',
  about:
    'Makes slower clocks out of a clock by counting, and a faster one by dividing the time between ' +
    'its pulses.',
  settings,
  needs: () => [{ inputs: ['clock'], otherwise: 'never starts' }],
  recounts: true,
  counts: ({ divide }) => divide,
  gates: (output) => ({
    inputs: ['clock', 'reset'],
    pulses([clocks = [], resets = []], { divide }) {
      const each = output === 'divided' ? divide : Number(/^by-(\d+)$/.exec(output)?.[1]);
      // A multiplier goes by the time between clocks.
      if (Number.isNaN(each)) return undefined;
      let count = 0;
      let next = 0;
      return clocks.filter(({ start }) => {
        for (; (resets[next]?.start ?? Number.POSITIVE_INFINITY) <= start; next++) count = 0;
        count += 1;
        return (count - 1) % each === 0;
      });
    },
  }),
  jacks: ({ divide, multiply, level }) => {
    const output = (name: string, field: string, about: string): OutputJack => ({
      name,
      direction: 'out',
      signal: 'gate',
      about,
      facts: volts(0, level),
      field,
    });
    return [
      {
        name: 'clock',
        direction: 'in',
        signal: 'gate',
        about: 'What is counted.',
        facts: voltageTrigger(0),
      },
      {
        name: 'reset',
        direction: 'in',
        signal: 'gate',
        about: 'The next clock is number one.',
        facts: voltageTrigger(0),
        rise: 'resets',
      },
      output('divided', 'divided', `Clocks 1, ${1 + divide}, ${1 + 2 * divide} and so on.`),
      output('by-2', 'by2', 'Every second clock.'),
      output('by-3', 'by3', 'Every third clock.'),
      output('by-4', 'by4', 'Every fourth clock.'),
      output('by-8', 'by8', 'Every eighth clock.'),
      output('multiplied', 'multiplied', `Pulses for each clock: ${multiply}.`),
    ];
  },
  role: 'circuit',
  create: (values, site) => new ClockDividerCircuit(values, site),
  example: `title: Clock divider
about: A clock of eight a second plays the hat; every fourth pulse of it plays the tom.
modules:
  tick:   { kind: clock, rate: 8 Hz, duty: 10 % }
  split:  { kind: multiple }
  count:  { kind: clock-divider, divide: 4 }
  short:  { kind: envelope, release: 40 ms }
  long:   { kind: envelope, release: 250 ms }
  hiss:   { kind: noise }
  tone:   { kind: oscillator, tune: 12 st }
  hat:    { kind: amplifier }
  tom:    { kind: amplifier }
  out:    { kind: output }
cables:
  - tick.out      -> split.in
  - split.out-1   -> count.clock
  - split.out-2   -> short.trigger
  - count.divided -> long.trigger
  - short.out     -> hat.control
  - hiss.white    -> hat.in
  - long.out      -> tom.control
  - tone.sine     -> tom.in
  - hat.out       -> out.left
  - tom.out       -> out.right
`,
});

class ClockDividerCircuit implements Circuit {
  /** V, as are the others. */
  divided = 0;
  by2 = 0;
  by3 = 0;
  by4 = 0;
  by8 = 0;
  multiplied = 0;

  private readonly clock: TriggerInput;
  private readonly reset: TriggerInput;
  private readonly divide: number;
  private readonly multiply: number;
  private readonly level: number;

  /** Clocks since the start or the last reset. */
  private clocks = 0;
  /** Samples since the last clock; infinite before the first. */
  private since = Number.POSITIVE_INFINITY;
  /** Samples between the last two clocks; infinite before the second. */
  private period = Number.POSITIVE_INFINITY;
  /** Half pulses that `multiplied` has done since the last clock, and when the next is due. */
  private halves = 0;
  private next = Number.POSITIVE_INFINITY;

  constructor(values: Values<typeof settings>, site: Site) {
    this.clock = new TriggerInput(site.input('clock'), site.sampleRate);
    this.reset = new TriggerInput(site.input('reset'), site.sampleRate);
    this.divide = values.divide;
    this.multiply = values.multiply;
    this.level = values.level;
  }

  run(clock: number, reset: number): void {
    this.clock.run(clock);
    this.reset.run(reset);
    this.since += 1;
    if (this.reset.rose) this.clocks = 0;
    if (this.clock.rose) this.count();
    else if (this.clock.fell) this.lower();
    if (this.since === this.next) this.turn();
  }

  rests(samples: number): boolean {
    return this.clock.rests && this.reset.rests && this.since + samples < this.next;
  }

  skip(samples: number): void {
    this.since += samples;
  }

  private count(): void {
    const { clocks, level } = this;
    this.divided = clocks % this.divide === 0 ? level : 0;
    this.by2 = clocks % 2 === 0 ? level : 0;
    this.by3 = clocks % 3 === 0 ? level : 0;
    this.by4 = clocks % 4 === 0 ? level : 0;
    this.by8 = clocks % 8 === 0 ? level : 0;
    this.clocks += 1;
    this.period = this.since;
    this.since = 0;
    this.halves = 0;
    this.next = this.period < Number.POSITIVE_INFINITY ? 0 : this.period;
  }

  private lower(): void {
    this.divided = 0;
    this.by2 = 0;
    this.by3 = 0;
    this.by4 = 0;
    this.by8 = 0;
  }

  /** Turns `multiplied` at one of its edges and works out the next. */
  private turn(): void {
    this.multiplied = this.halves % 2 === 0 ? this.level : 0;
    this.halves += 1;
    const last = this.halves === 2 * this.multiply;
    const due = Math.round((this.halves * this.period) / (2 * this.multiply));
    // Two edges on one sample would be no pulse: the second waits a sample.
    this.next = last ? Number.POSITIVE_INFINITY : Math.max(due, this.since + 1);
  }
}
