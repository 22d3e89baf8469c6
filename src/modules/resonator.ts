/**
 * Resonator: something that rings when struck, as a drum head does.
 *
 *   out = V exp(-t/tau) sin(2 pi f t) after a step of V volts at strike, strike-level being 100 %
 *   f   = at-zero x 2^(pitch + tune/12), tau = T60/ln 1000, T60 = decay x 2^(decay-amount x volts)
 *
 * f is the frequency that is heard. As a two-pole band-pass it is f = f0 sqrt(1 - 1/(4 Q^2)), with
 * tau = Q/(pi f0). What comes in at `in` goes through that band-pass, whose gain at f0 is Q: it is
 * the response of the same circuit to the volts themselves, with no diode in the way.
 *
 * Only rising volts at strike excite it, as through a capacitor and a diode: the end of a gate does
 * not strike again, and a louder gate strikes harder in proportion.
 *
 * The state is a pointer that turns by f and shrinks by tau at each sample; out is its height. That
 * is the equation itself, exact at every sample rate, and a pitch that moves never makes it louder
 * or clicks. The pointer is never longer than the supply rails: a wave that is driven further stops
 * growing, without being bent.
 *
 * Source: response of the second-order section: Sedra & Smith, Microelectronic Circuits, filters
 * chapter (from memory); T60 = tau ln 1000 is the definition of 60 dB. Capacitor and diode: common
 * practice, no source.
 * Deviation: f in use is never above 0.45 of the sample rate, T60 never under 0.1 ms or over 60 s.
 * Deviation: what comes in at `in` counts as steps from sample to sample. So against the analogue band-pass
 * the response is 0.6 dB up at 10 kHz and 2.1 dB at 18 kHz, at a rate of 48 kHz; with f at 5 kHz it is
 * down by 0.3 dB below, with f at 10 kHz by 1.4 dB. Steps themselves, gates above all, are exact.
 * Deviation: a strike takes effect at the sample it falls on, up to a sample from where it truly was.
 */

import { define } from './definition.ts';
import { jackIn, jackOut } from './jacks.ts';
import { atZero, tune } from './pitch.ts';

const settings = {
  'at-zero': atZero(5),
  tune,
  decay: {
    type: 'time',
    min: 0.001,
    max: 60,
    fallback: 0.4,
    about: 'Time in which the ringing falls by 60 dB, with 0 V at decay.',
    moved: { jack: 'decay', amount: 'decay-amount' },
    tone: { as: 'ringing' },
  },
  'decay-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far the voltage at decay moves it: 100 % doubles it with each volt.',
    input: 'decay',
  },
  'strike-level': {
    type: 'percent',
    min: 0,
    max: 4,
    fallback: 1,
    about: 'How high it rings for each volt of a strike.',
  },
  'in-level': {
    type: 'decibel',
    min: -60,
    max: 20,
    fallback: 0,
    about: 'Level of in. At 0 dB a step there rings as high as a strike of 100 %.',
  },
} as const;

export const resonator = define({
  kind: 'resonator',
  alsoCalled: ['ping', 'modal'],
  about:
    'Rings at a pitch when a gate strikes it, and dies away. Also a narrow band-pass for sounds. ' +
    'Pitch and decay can follow volts.',
  settings,
  limits: [
    'A strike rings exactly as the circuit does. As a band-pass for in it is 0.6 dB up at 10 ' +
      'kHz and 2.1 dB at 18 kHz, at 48 kHz; tuned to 5 kHz it is 0.3 dB down below, tuned to 10 ' +
      'kHz 1.4 dB.',
    'The frequency in use is never above 0.45 of the sample rate, the decay never under 0.1 ' +
      'ms or over 60 s.',
  ],
  needs: () => [{ inputs: ['strike', 'in'], otherwise: 'gives nothing' }],
  effect: 'Made to ring',
  scales: ['in', 'strike'],
  jacks: () => [
    jackIn('strike', 'gate', 'A rise of volts here strikes it; the higher, the louder.'),
    jackIn('in', 'audio', 'Sound that sets it ringing: noise, a click, another drum.'),
    jackIn('pitch', 'pitch', 'One volt an octave, added to the tuning.'),
    jackIn('decay', 'control', 'Lengthens the decay: doubles it with each volt, at 100 %.'),
    jackOut('out', 'audio', 'The ringing.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'resonator',
      ...['strike', 'in', 'pitch', 'decay'].map(site.input),
      site.output('out'),
      values['at-zero'],
      values.tune,
      values.decay,
      values['decay-amount'],
      values['strike-level'],
      values['in-level'],
      site.sampleRate,
    );
  },
  example: `title: Resonator
about: Each gate strikes a drum tuned to G2. No envelope or amplifier is needed.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], patterns: { groove: { tom: "x--x--x-" } }, song: [groove] }
  head:  { kind: resonator, tune: 7 st, decay: 500 ms }
  out:   { kind: output }
cables:
  - drums.tom -> head.strike
  - head.out  -> out.left
`,
});
