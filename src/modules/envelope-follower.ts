/**
 * Envelope follower: the loudness of a sound as a control voltage, and as a gate.
 *
 *   out  = gain d;  d follows |in| (size), or d^2 follows in^2 (power)
 *   d(t) = x + (d0 - x) exp(-t/tau), tau = attack/5 while x is higher than d, otherwise release/5
 *   gate   on when out >= threshold + hysteresis/2, off when out <= threshold - hysteresis/2
 *
 * x is |in| or in^2, held for a sample, and d is its value at the sample's end. With a short attack
 * and a long release out is nearly the peak; with both the same it is the mean of |in| (2/pi of a
 * sine's peak), or with power the root mean square (0.707 of it).
 *
 * Source: RC charge and discharge: Horowitz & Hill, The Art of Electronics, 1.4.2; peak and RMS
 * detectors: Zolzer (ed.), DAFX: Digital Audio Effects, dynamics chapter (both from memory). Five time
 * constants, and the values unless set: common practice, no source.
 * Deviation: the rectifier is ideal, down to 0 V, where diodes lose small signals. With no attack
 * and no release out is the rectified wave itself, which aliases; the shaper's rectifier does so less.
 */

import { define } from './definition.ts';
import { gainOfDb } from './dsp/math.ts';
import { usualVolts, volts } from './facts.ts';
import { gateLevel } from './gate-output.ts';
import { jackIn, jackOut } from './jacks.ts';
import { exponentialShare } from './slew.ts';

/** Time constants in an attack or a release, as in `slew.ts`. */
const CONSTANTS = 5;

const settings = {
  follows: {
    type: 'choice',
    options: ['size', 'power'],
    fallback: 'size',
    about: 'size: the volts, whichever way they swing. power: their squares, as loudness goes.',
  },
  attack: {
    type: 'time',
    min: 0,
    max: 10,
    fallback: 0.005,
    timeConstants: CONSTANTS,
    about: 'Time to follow what gets louder: 5 time constants.',
  },
  release: {
    type: 'time',
    min: 0,
    max: 10,
    fallback: 0.2,
    timeConstants: CONSTANTS,
    about: 'Time to follow what gets softer, likewise. Short ones let the wave itself through.',
  },
  gain: {
    type: 'decibel',
    min: -40,
    max: 40,
    fallback: 0,
    about: 'At 0 dB a sound of 5 V peak comes to 5 V at most.',
  },
  threshold: {
    type: 'voltage',
    min: 0.01,
    max: 10,
    fallback: 1,
    about: 'Volts at out at which gate switches.',
  },
  hysteresis: {
    type: 'voltage',
    min: 0,
    max: 5,
    fallback: 0.2,
    about: 'From switching on to switching off, half of it either side of the threshold.',
  },
  level: gateLevel,
} as const;

export const envelopeFollower = define({
  kind: 'envelope-follower',
  alsoCalled: ['follower'],
  about:
    'Follows how loud a sound is, as a control voltage and a gate: so that one voice moves, ducks or ' +
    'triggers another.',
  settings,
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  recounts: true,
  effect: 'Followed',
  jacks: ({ level }) => [
    jackIn('in', 'audio', 'What is followed.'),
    jackOut('out', 'control', 'How loud it is.', usualVolts(0, 5)),
    jackOut('gate', 'gate', 'On while it is louder than the threshold.', volts(0, level)),
  ],
  role: 'circuit',
  create: (values, site) => {
    const { follows, attack, release, gain, threshold, hysteresis, level } = values;
    site.make(
      'envelopeFollower',
      site.input('in'),
      ...['out', 'gate'].map(site.heard),
      follows === 'power',
      ...[attack, release].map((time) => exponentialShare(time * site.sampleRate)),
      gainOfDb(gain),
      threshold + hysteresis / 2,
      // Silence always switches it off.
      Math.max(threshold - hysteresis / 2, 0),
      level,
    );
  },
  example: `title: Envelope follower
about: A kick pushes a steady hiss down as long as it is loud.
modules:
  drums:  { kind: rhythm, tempo: 110 bpm, channels: [kick], gate: 5 ms, patterns: { groove: { kick: "x---x---" } }, song: [groove] }
  head:   { kind: resonator, at-zero: 55 Hz, decay: 400 ms }
  split:  { kind: multiple }
  follow: { kind: envelope-follower, release: 150 ms }
  duck:   { kind: attenuator, level: -100 %, offset: 3 V }
  hiss:   { kind: noise, level: 0.6 V }
  level:  { kind: amplifier }
  out:    { kind: output }
cables:
  - drums.kick  -> head.strike
  - head.out    -> split.in
  - split.out-1 -> follow.in
  - split.out-2 -> out.left
  - follow.out  -> duck.in
  - duck.out    -> level.control
  - hiss.pink   -> level.in
  - level.out   -> out.right
`,
});
