/**
 * Clock: a free-running square oscillator that makes gates, with its true levels and resistance.
 *
 *   pulse n is high from n / rate for duty / rate, n from 0 at the start or at the last reset
 *
 * Every edge is worked out from there, never from the edge before, so the clock does not drift.
 *
 * Many clocks are weaker than they should be: set `level`, `low` and `resistance` to what was measured
 * at its jack, and the check says which inputs it will not drive.
 *
 * Source: event times from the start: as everywhere in Forehear. Square wave: no source needed.
 * Deviation: each edge lies on the nearest sample, and a pulse and the gap after it last one sample
 * at least. A circuit's clock wavers and drifts.
 */

import { define } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { jackOut } from './jacks.ts';

const settings = {
  rate: {
    type: 'frequency',
    min: 0.01,
    max: 1000,
    fallback: 8,
    toldBy: 'rate',
    about: 'Pulses a second.',
  },
  level: {
    type: 'voltage',
    min: 0.5,
    max: 12,
    fallback: 5,
    about: 'High voltage, with nothing plugged in.',
  },
  low: {
    type: 'voltage',
    min: -12,
    max: 0.5,
    fallback: 0,
    about: 'Low voltage, with nothing plugged in.',
  },
  duty: {
    type: 'percent',
    min: 0.01,
    max: 0.99,
    fallback: 0.5,
    toldBy: 'duty',
    about: 'Part of each period for which it is high.',
  },
  resistance: {
    type: 'resistance',
    min: 0,
    max: 1e6,
    fallback: 1000,
    about: 'Source resistance of the output: the higher, the more an input loads it down.',
  },
} as const;

export const clock = define({
  kind: 'clock',
  about:
    'A free-running clock: a square wave at a rate of its own, with the levels and the resistance ' +
    'of the real one.',
  settings,
  jacks: ({ level, low, resistance }) => [
    {
      name: 'reset',
      direction: 'in',
      signal: 'gate',
      about: 'Its rising edge starts a new pulse at once.',
      facts: voltageTrigger(0),
      rise: 'resets',
    },
    jackOut('out', 'gate', 'The clock.', volts(low, level, resistance)),
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'clock',
      site.input('reset'),
      site.output('out'),
      values.rate,
      values.duty,
      values.level,
      values.low,
      site.sampleRate,
      site.trigger('reset'),
    );
  },
  example: `title: Clock
about: Six hits a second with no sequencer.
modules:
  tick:  { kind: clock, rate: 6 Hz, duty: 10 % }
  shape: { kind: envelope, release: 90 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - tick.out   -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`,
});
