/**
 * Slew limiter: the output follows the input at a limited speed, set separately for up and down.
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

import { define } from './definition.ts';
import { exp } from './dsp/math.ts';
import { jackIn, jackOut } from './jacks.ts';

/** Time constants in a rise or a fall. */
const CONSTANTS = 5;
/** V that the linear curve moves in the time set. */
const SPAN = 5;

const settings = {
  rise: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.05,
    toldBy: 'rise',
    timeConstants: CONSTANTS,
    about: 'Time to rise: exponential, 5 time constants; linear, the time for 5 V.',
  },
  fall: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.05,
    toldBy: 'fall',
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
  alsoCalled: ['lag', 'glide', 'portamento', 'slew-limiter', 'integrator'],
  about:
    'A slew limiter: makes jumps into glides. On a pitch it is portamento, on a gate a plain ' +
    'envelope, on audio a soft low-pass.',
  settings,
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  carries: { out: ['in'] },
  jacks: () => [
    jackIn('in', 'control', 'What is followed.'),
    jackOut('out', 'control', 'The input, slowed down.'),
  ],
  role: 'circuit',
  create: ({ rise, fall, curve }, site) => {
    const wires = [site.input('in'), site.output('out')];
    const samples = [rise * site.sampleRate, fall * site.sampleRate];
    // A rise or fall of 0 s has no limit.
    const isLinear = curve === 'linear';
    const limit = isLinear ? (time: number): number => SPAN / time : exponentialShare;
    site.make('slew', ...wires, isLinear, ...samples.map(limit));
  },
  passes: () => [{ output: 'out', offset: 0, terms: [{ input: 'in', gain: 1 }] }],
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

/** Gives the share of the distance to the input that is covered in one sample: 1 - exp(-5 / samples). */
export function exponentialShare(samples: number): number {
  return samples > 0 ? 1 - exp(-CONSTANTS / samples) : 1;
}
