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
 * the second clock; a reset does not concern it. It starts again at every clock, early or late.
 * After a pause the first two clocks are far apart, and so are its pulses until the third.
 *
 * Source: counting; the downbeat rule is common practice, no source.
 * Deviation: the multiplier's pulses lie on the nearest sample, each worked out from its clock.
 */

import { define, type OutputJack } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { gateLevel } from './gate-output.ts';
import { jackIn } from './jacks.ts';

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
  alsoCalled: ['divider', 'multiplier-divider'],
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
    const output = (name: string, about: string): OutputJack => ({
      name,
      direction: 'out',
      signal: 'gate',
      about,
      facts: volts(0, level),
    });
    return [
      jackIn('clock', 'gate', 'What is counted.', voltageTrigger(0)),
      {
        name: 'reset',
        direction: 'in',
        signal: 'gate',
        about: 'The next clock is number one.',
        facts: voltageTrigger(0),
        rise: 'resets',
      },
      output('divided', `Clocks 1, ${1 + divide}, ${1 + 2 * divide} and so on.`),
      output('by-2', 'Every second clock.'),
      output('by-3', 'Every third clock.'),
      output('by-4', 'Every fourth clock.'),
      output('by-8', 'Every eighth clock.'),
      output('multiplied', `Pulses for each clock: ${multiply}.`),
    ];
  },
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'clockDivider',
      ...['clock', 'reset'].map(site.input),
      ...['divided', 'by-2', 'by-3', 'by-4', 'by-8', 'multiplied'].map(site.heard),
      values.divide,
      values.multiply,
      values.level,
      ...['clock', 'reset'].map(site.trigger),
    );
  },
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
