/**
 * Envelope: attack, decay, sustain and release, as a capacitor that charges and discharges.
 *
 *   exponential   v(t) = aim + (v0 - aim) exp(-t / tau)
 *                 attack: aim 1.5 x peak, cut off at peak, so tau = attack / ln 3
 *                 decay and release: aim the sustain level and 0 V, tau = time / 5
 *   linear        v(t) = v0 + slope t
 *                 attack: slope = peak / attack
 *                 decay: slope = (sustain - peak) / decay, so the stage takes its time
 *                 release: slope = -peak / release, whatever voltage it starts from
 *   either        cut: aim 0 V, tau = 2 ms
 *
 * The linear release has the slope of a whole fall, not the time of one, so that with the sustain at
 * 0 and equal times a gate that ends inside the decay changes nothing: a constant current empties
 * the capacitor either way.
 *
 * A cut ends the envelope from any stage, and while it is on no trigger starts another. It is a fall
 * and not a jump, since a jump in loudness is a click: at an offset of f from whatever sounds, the
 * fall leaves 1/sqrt(1 + (2 pi f tau)^2) of the jump's spectrum, 28 dB less at 2 kHz.
 *
 * The sample at which the trigger is noticed holds the voltage of that moment; every sample after it
 * is the closed form at its own time. A stage ends between samples where the equation says, and the
 * next one starts there. The last nanovolt is skipped: within 1e-9 V of its aim a fall ends, which
 * also keeps numbers too small for the processor out, and a straight line's roundings from passing 0.
 *
 * Source: RC charge and discharge: Horowitz & Hill, The Art of Electronics, 1.4.2 (from memory).
 * Charging past the peak, five time constants to a stage: common practice, no source.
 * Deviation: the comparator that ends the attack and the switches between stages act at once.
 */

import { define } from './definition.ts';
import { exp, log } from './dsp/math.ts';
import { switchTrigger, voltageTrigger, volts } from './facts.ts';
import { jackOut } from './jacks.ts';

/** Time constants in an attack: ln(aim / (aim - 1)) = ln 3. */
const ATTACK_CONSTANTS = 1.0986122886681098;
/** Time constants in a decay or a release. */
const FALL_CONSTANTS = 5;
/** s, time constant: 60 dB down in 14 ms. Chosen by the spectrum above, no source. */
const CUT_TAU = 0.002;

const settings = {
  trigger: {
    type: 'choice',
    options: ['voltage', 'switch'],
    fallback: 'voltage',
    about: 'Kind of trigger input: a voltage trigger, or a switch trigger that is pulled low.',
    fires: 'trigger',
  },
  mode: {
    type: 'choice',
    options: ['gate', 'trigger'],
    fallback: 'gate',
    about:
      'gate: the release starts when the trigger ends. trigger: attack and decay run to the end ' +
      'whatever the trigger does.',
  },
  attack: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.001,
    timeConstants: ATTACK_CONSTANTS,
    toldBy: 'attack',
    about: 'Time from 0 V to the peak; exponential: on a charge toward 1.5 x the peak.',
  },
  decay: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.1,
    timeConstants: FALL_CONSTANTS,
    toldBy: 'decay',
    about: 'Time from the peak to the sustain level; exponential: 5 time constants.',
  },
  sustain: {
    type: 'percent',
    min: 0,
    max: 1,
    fallback: 0,
    toldBy: 'sustain',
    about: 'Level held while the trigger stays on, in percent of the peak.',
  },
  release: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.1,
    timeConstants: FALL_CONSTANTS,
    toldBy: 'release',
    about: 'Time to 0 V after the trigger; exponential: 5 time constants; linear: from the peak.',
  },
  peak: {
    type: 'voltage',
    min: 0.5,
    max: 10,
    fallback: 5,
    about: 'Highest voltage.',
  },
  curve: {
    type: 'choice',
    options: ['exponential', 'linear'],
    fallback: 'exponential',
    about: 'Shape of all stages.',
  },
} as const;

export const envelope = define({
  kind: 'envelope',
  alsoCalled: ['adsr', 'ar', 'ad', 'asr', 'eg', 'env', 'envelope-generator'],
  about:
    'A control voltage that rises and falls once for each trigger: attack, decay, sustain, release.',
  settings,
  needs: () => [{ inputs: ['trigger'], otherwise: 'never starts' }],
  jacks: ({ trigger, peak }) => [
    {
      name: 'trigger',
      direction: 'in',
      signal: trigger === 'switch' ? 'switch' : 'gate',
      about: 'Starts the attack; in gate mode its end starts the release.',
      facts: trigger === 'switch' ? switchTrigger() : voltageTrigger(),
    },
    {
      name: 'cut',
      direction: 'in',
      signal: 'gate',
      about: 'Ends the envelope at once, without a click; holds it ended while on.',
      facts: voltageTrigger(0),
      rise: 'ends',
    },
    jackOut('out', 'control', 'The envelope, from 0 V to the peak.', volts(0, peak)),
  ],
  role: 'circuit',
  course: ({ peak, sustain, attack, decay, release, curve, mode }) => ({
    peak,
    sustain: sustain * peak,
    attack,
    decay,
    release,
    linear: curve === 'linear',
    gated: mode === 'gate',
    attackConstants: ATTACK_CONSTANTS,
    fallConstants: FALL_CONSTANTS,
  }),
  create: (values, site) => {
    const rate = site.sampleRate;
    site.make(
      'envelope',
      site.input('trigger'),
      site.input('cut'),
      site.output('out'),
      values.mode === 'gate',
      values.curve === 'linear',
      values.peak,
      values.sustain,
      values.attack * rate,
      ATTACK_CONSTANTS,
      values.decay * rate,
      values.release * rate,
      FALL_CONSTANTS,
      CUT_TAU * rate,
      site.trigger('trigger'),
      site.trigger('cut'),
    );
  },
  example: `title: Envelope
about: Each gate opens the amplifier for a short burst of noise.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [snare], gate: 10 ms, patterns: { groove: { snare: "--x---x-" } }, song: [groove] }
  shape: { kind: envelope, attack: 1 ms, decay: 150 ms, release: 150 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.snare -> shape.trigger
  - hiss.white  -> level.in
  - shape.out   -> level.control
  - level.out   -> out.left
`,
});

/**
 * Gives the voltage of a capacitor that has charged from `from` toward `aim` for time `t`.
 * @param tau time constant, in the unit of `t`, from 0 (at once) on.
 */
export function charged(from: number, aim: number, tau: number, t: number): number {
  return tau > 0 ? aim + (from - aim) * exp(-t / tau) : aim;
}

/**
 * Gives the time in which a capacitor charges from `from` to `level` on its way toward `aim`.
 * @param level between `from` and `aim`; one already passed gives 0.
 * @returns time in the unit of `tau`: tau ln((aim - from) / (aim - level)).
 */
export function chargeTime(from: number, aim: number, level: number, tau: number): number {
  const ratio = (aim - from) / (aim - level);
  return ratio > 1 && tau > 0 ? tau * log(ratio) : 0;
}
