/**
 * Oscillator: four waves of one phase, at one volt an octave.
 *
 *   frequency = at-zero x 2^(pitch + tune / 12 + e x exponential-fm) x (1 + l x linear-fm / 5 V)
 *               volts at the jacks, tune in semitones, e and l the amounts of either FM
 *   phase     = integral of the frequency, from 0 at the start (trapezoidal rule)
 *   sine      = 5 V sin(2 pi phase)
 *   triangle  in phase with the sine;  saw rises through 0 V with it
 *   pulse     +5 V for the first `width` of each period, then -5 V; 10 % wider for each volt
 *
 * `sync` starts a new period at once when it rises through its threshold, at the moment between two
 * samples that a parabola through the last three gives.
 *
 * Saw, triangle and pulse are band limited: see dsp/waves.ts of the circuits. Alias products below
 * 20 kHz lie 100 dB and more under the fundamental, for fundamentals up to 5 kHz.
 *
 * Where sound reaches pitch, either FM or sync, it runs at four times the sample rate, and the moment of
 * sync is found under a low-pass that removes everything that may have folded (dsp/crossing.ts), so that
 * products lie 100 dB under the loudest partial: under linear FM of up to 100 % and 5 V with carrier and
 * modulator up to 5 kHz, exponential FM of up to two octaves with both up to 2 kHz, and sync of a wave up to
 * 6 kHz by any wave of an oscillator up to 3 kHz. That costs eight times what a plain wave does, and
 * under sync nine times; control volts and gates at these jacks cost nothing, and cause no aliases that
 * could be heard.
 *
 * Source: twelve-tone equal temperament, A4 = 440 Hz: ISO 16:1975 (from memory); one volt an octave:
 * common practice, no source. The waves' harmonics are those of their Fourier series. Against aliases: see
 * dsp/waves.ts (steps and corners), dsp/half-band.ts (oversampling) and dsp/crossing.ts of the circuits.
 * Deviation: all waves come 3 samples late (62 us at 48 kHz), the delay of the band-limiting; the sine is
 * delayed too so that they stay in phase. Where sound reaches it they come some 2.4 samples late, and the
 * effect of that sound comes some 4 to 7 samples late.
 * Deviation: saw and pulse ring for a few samples after a jump, by up to 2.2 V past their +-5 V, since they
 * have nothing above 20 kHz. Where jumps crowd (a narrow pulse over 1 kHz, volts at pitch or sync that jump as
 * fast) their ringing adds up, as it would behind a steep filter, at most to the rails.
 * Deviation: the frequency stops at 0.45 of the sample rate and, under linear FM, at 0 Hz.
 * Deviation: FM that is deeper and faster than the above has sidebands beyond twice the sample rate, and
 * they fold.
 * Deviation: sound at sync that is high for less than two samples (42 us at 48 kHz) does not sync.
 * Deviation: the edge of a gate at sync has no place between two samples, so it starts a period up to a
 * sample from where it truly is.
 * Deviation: sync restarts all waves at the phase 0, so the saw at 0 V; many circuits start it at
 * the bottom.
 * Deviation: a circuit's wave has rounded corners, a trace of the other waves and some drift in
 * pitch; this one has none, and starts at the same phase every time so that a patch sounds the same.
 */

import { define } from './definition.ts';
import { exp2 } from './dsp/math.ts';
import { plain, type TriggerFacts, usualVolts, voltageTrigger } from './facts.ts';
import { atZero, tune } from './pitch.ts';

const NARROWEST = 0.05;
const WIDEST = 0.95;
/** V, either side of ground. */
const SWING = 5;
/** Inputs that are unplugged on most oscillators, and then cost no work. */
const MODULATORS = ['linear-fm', 'sync', 'width'];

/** Inputs at which sound creates frequencies beyond half the sample rate. */
const BENDERS = ['pitch', 'exponential-fm', 'linear-fm', 'sync'];

const settings = {
  'at-zero': { ...atZero(0.01), toldBy: 'frequency' },
  tune: { ...tune, toldBy: 'interval' },
  width: {
    type: 'percent',
    min: NARROWEST,
    max: WIDEST,
    fallback: 0.5,
    about: 'Part of each period for which the pulse is high.',
    tone: { as: 'colour', output: 'pulse' },
  },
  'exponential-fm-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about:
      'How far exponential-fm moves the pitch: 100 % is an octave a volt; negative moves it down.',
    input: 'exponential-fm',
  },
  'linear-fm-amount': {
    type: 'percent',
    min: 0,
    max: 4,
    fallback: 1,
    about: 'How far linear-fm moves the frequency: at 100 %, 5 V doubles it and -5 V stops it.',
    input: 'linear-fm',
  },
} as const;

export const oscillator = define({
  kind: 'oscillator',
  alsoCalled: ['vco', 'lfo', 'osc', 'tone', 'sine', 'saw', 'triangle', 'square'],
  about:
    'Sine, triangle, saw and pulse of one pitch, all at once. The pitch follows one volt an octave.',
  limits: [
    'Aliases lie 100 dB and more under the fundamental, for fundamentals up to 5 kHz.',
    'Where sound reaches pitch, FM or sync they lie 100 dB under the loudest partial: linear ' +
      'FM up to 100 % with both tones up to 5 kHz, exponential FM up to two octaves with both ' +
      'up to 2 kHz, sync by any wave up to 3 kHz of waves up to 6 kHz. It then takes four to nine ' +
      'times as long to compute. ' +
      'Control volts and gates there cost nothing.',
    'The waves come some 3 samples late, 62 us at 48 kHz; what sound does to them comes 4 to ' +
      '7 samples late. Sound at sync that is high for less than two samples does not sync.',
    'A gate at sync starts a period up to a sample from where it truly is.',
    'Saw and pulse ring past ±5 V for a few samples after each jump, by up to 2.2 V; where jumps crowd, as of a ' +
      'narrow pulse over 1 kHz, by more.',
  ],
  settings,
  effect: 'Modulated by another tone',
  jacks: () => [
    {
      name: 'pitch',
      direction: 'in',
      signal: 'pitch',
      about: 'One volt an octave, added to the tuning.',
      facts: plain(),
    },
    {
      name: 'exponential-fm',
      direction: 'in',
      signal: 'control',
      about: 'Bends the pitch by its amount: an envelope for a drum, a slow wave for vibrato.',
      facts: plain(),
    },
    {
      name: 'linear-fm',
      direction: 'in',
      signal: 'audio',
      about: 'Moves the frequency by its amount, in hertz rather than in octaves: for bells.',
      facts: plain(),
    },
    {
      name: 'sync',
      direction: 'in',
      signal: 'audio',
      about: 'Starts a new period at once whenever it rises: a master oscillator, or a trigger.',
      facts: voltageTrigger(0),
    },
    {
      name: 'width',
      direction: 'in',
      signal: 'control',
      about: 'Widens the pulse by 10 % of the period a volt, between 5 % and 95 %.',
      facts: plain(),
    },
    {
      name: 'sine',
      direction: 'out',
      signal: 'audio',
      about: 'Fundamental alone.',
      facts: usualVolts(-SWING, SWING),
    },
    {
      name: 'triangle',
      direction: 'out',
      signal: 'audio',
      about: 'Odd harmonics, falling as 1 / n^2.',
      facts: usualVolts(-SWING, SWING),
    },
    {
      name: 'saw',
      direction: 'out',
      signal: 'audio',
      about: 'All harmonics, falling as 1 / n. A rising ramp.',
      facts: usualVolts(-SWING, SWING),
    },
    {
      name: 'pulse',
      direction: 'out',
      signal: 'audio',
      about: 'Odd harmonics at 50 %; a narrower pulse is brighter, and carries a steady voltage.',
      facts: usualVolts(-SWING, SWING),
    },
  ],
  role: 'circuit',
  create: (values, site) => {
    const { on, off } = site.facts('sync').trigger as TriggerFacts;
    const isSounding = BENDERS.some(site.sounds);
    site.make(
      isSounding ? 'soundingOscillator' : 'oscillator',
      ...['pitch', 'exponential-fm', 'linear-fm', 'sync', 'width'].map(site.input),
      ...['sine', 'triangle', 'saw', 'pulse'].map(site.heard),
      pitchFrequency(values['at-zero'], 0, values.tune) / site.sampleRate,
      values['exponential-fm-amount'],
      values['linear-fm-amount'],
      values.width,
      on,
      off,
      ['pitch', 'exponential-fm'].some(site.sounds),
      ...MODULATORS.map(site.patched),
    );
  },
  example: `title: Oscillator
about: A sine an octave and a half above C2, struck by an envelope.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], gate: 10 ms, patterns: { groove: { tom: "x--x--x-" } }, song: [groove] }
  tone:  { kind: oscillator, tune: 18 st }
  shape: { kind: envelope, release: 250 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.tom -> shape.trigger
  - shape.out -> level.control
  - tone.sine -> level.in
  - level.out -> out.left
`,
});

/**
 * Gives the frequency of an oscillator, before its upper limit.
 * @param atZero Hz at 0 V.
 * @param pitch V; one volt is an octave.
 * @param tune semitones.
 * @returns Hz.
 */
export function pitchFrequency(atZero: number, pitch: number, tune: number): number {
  return atZero * exp2(pitch + tune / 12);
}
