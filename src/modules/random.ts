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

import { define, type InputJack } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

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
    toldBy: 'steps',
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

const TRIGGER: InputJack = jackIn('trigger', 'gate', 'Draws a new voltage.', voltageTrigger(0));

export const random = define({
  kind: 'random',
  about: 'Random voltages, one after another: as steps, and as a curve from each to the next.',
  settings,
  needs: ({ clock }) =>
    clock === 'trigger' ? [{ inputs: ['trigger'], otherwise: 'never starts' }] : [],
  recounts: true,
  jacks: ({ clock, range }) => [
    ...(clock === 'own' ? [] : [TRIGGER]),
    jackOut('stepped', 'control', 'The voltage drawn, held.', volts(-range, range)),
    jackOut('smooth', 'control', 'On its way to the voltage drawn.', volts(-range, range)),
  ],
  role: 'circuit',
  isSeeded: true,
  create: (values, site) => {
    const outputs = ['stepped', 'smooth'].map(site.heard);
    const { range, rate } = values;
    const seeds = site.seeds('random');
    if (values.clock === 'own') {
      site.make('freeRandom', ...outputs, range, rate, site.sampleRate, ...seeds);
      return;
    }
    const trigger = site.trigger('trigger');
    const last = site.sampleRate / rate;
    site.make('triggeredRandom', site.input('trigger'), ...outputs, range, last, trigger, ...seeds);
  },
  example: `title: Random
about: Each hit has a brightness of its own.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 10 ms, patterns: { groove: { hat: "x-xxx-x-" } }, song: [groove] }
  split: { kind: multiple }
  any:   { kind: random, range: 2 V }
  hiss:  { kind: noise, level: 3 V }
  tone:  { kind: filter, cutoff: 2 kHz, q: 1.5 }
  shape: { kind: envelope, release: 160 ms }
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
