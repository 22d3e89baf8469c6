/**
 * Cluster: six pulse oscillators at inharmonic ratios, the raw sound of metal.
 *
 *   frequency k = base x ratio-k x 2^(pitch), pitch in volts, k = 1..6
 *   low  = 5/3 V x (pulse 1 + pulse 2 + pulse 3), pulses of +1 and -1
 *   high = 5/3 V x (pulse 4 + pulse 5 + pulse 6)
 *   out  = low + high
 *
 * Unless set, the ratios are those of the six lowest modes of a flat round plate with a free edge,
 * as a cymbal would be if it were flat: roots of Kirchhoff's plate equation, Poisson's ratio 0.33.
 *
 * The pulses are band limited: see dsp/band-limited-step.ts. Alias products below 20 kHz lie 80 dB and
 * more under the strongest partial, for oscillators up to 5 kHz.
 *
 * Source: Leissa, Vibration of Plates, NASA SP-160 (1969), ch. 2, plates with a free edge (from
 * memory; the ratios here are computed again from its frequency equation, as a test does again).
 * Deviation: a cymbal is not flat and has hundreds of modes; six pulses stand in for them with their
 * harmonics.
 * Deviation: the waves come 3 samples late, which is what the band-limiting takes.
 * Deviation: a frequency stops at 0.45 of the sample rate.
 * Deviation: no drift. The phases at the start are random, but the same for the same seed.
 */

import { define, type NumberSpec } from './definition.ts';
import { plain, volts } from './facts.ts';

const OSCILLATORS = [1, 2, 3, 4, 5, 6] as const;

const settings = {
  base: {
    type: 'frequency',
    min: 1,
    max: 5000,
    fallback: 300,
    about: 'Frequency of a ratio of 1, with 0 V at pitch.',
  },
  'ratio-1': ratio(1, 1),
  'ratio-2': ratio(2, 1.723),
  'ratio-3': ratio(3, 2.327),
  'ratio-4': ratio(4, 3.898),
  'ratio-5': ratio(5, 4.091),
  'ratio-6': ratio(6, 6.283),
  width: {
    type: 'percent',
    min: 0.05,
    max: 0.95,
    fallback: 0.5,
    about: 'Part of each period for which a pulse is high. Other than 50 % it is a little denser.',
  },
} as const;

export const cluster = define({
  kind: 'cluster',
  about:
    'Six pulse oscillators whose frequencies fit no scale: filtered and shaped, a hat, a cymbal ' +
    'or a bell.',
  settings,
  jacks: () => [
    {
      name: 'pitch',
      direction: 'in',
      signal: 'pitch',
      about: 'Moves all six, one volt an octave.',
      facts: plain(),
    },
    {
      name: 'out',
      direction: 'out',
      signal: 'audio',
      about: 'All six.',
      facts: volts(-10, 10),
    },
    {
      name: 'low',
      direction: 'out',
      signal: 'audio',
      about: 'The first three.',
      facts: volts(-5, 5),
    },
    {
      name: 'high',
      direction: 'out',
      signal: 'audio',
      about: 'The last three.',
      facts: volts(-5, 5),
    },
  ],
  role: 'circuit',
  create: (values, site) => {
    const made = site.make(
      'cluster',
      site.input('pitch'),
      ...['out', 'low', 'high'].map(site.heard),
      values.width,
      ...site.seeds('phases'),
    );
    OSCILLATORS.forEach((number, k) => {
      const hertz = values[`ratio-${number}`] * values.base;
      site.call('clusterTune', made, k, hertz / site.sampleRate);
    });
  },
  example: `title: Cluster
about: Six pulses, high-passed and cut short - a metal hat.
modules:
  drums:  { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 10 ms, patterns: { groove: { hat: "x-x-x-xx" } }, song: [groove] }
  metal:  { kind: cluster }
  bright: { kind: filter, cutoff: 7 kHz }
  shape:  { kind: envelope, decay: 300 ms, release: 300 ms }
  level:  { kind: amplifier, response: exponential }
  out:    { kind: output }
cables:
  - drums.hat   -> shape.trigger
  - metal.out   -> bright.in
  - bright.high -> level.in
  - shape.out   -> level.control
  - level.out   -> out.left
`,
});

function ratio(oscillator: number, fallback: number): NumberSpec {
  return {
    type: 'number',
    min: 0.1,
    max: 20,
    fallback,
    about: `Frequency of oscillator ${oscillator} over base.`,
  };
}
