/**
 * Noise: one random source, taken as it is (white) and through two fixed filters (pink, red).
 *
 *   white = level x, x Gaussian of rms 1, every sample independent of every other
 *   pink  = white through -3.01 dB an octave
 *   red   = white through -6.02 dB an octave
 *
 * `level` is the rms of white noise over the whole band, and that of pink and of red noise from
 * 20 Hz to 20 kHz, whatever the rate. What lies outside that band comes on top: in all, pink noise
 * has about 1.2 times its level, red noise 1.8 times.
 *
 * Source: dsp/gaussian.ts, dsp/random.ts, dsp/coloured.ts say where the methods are from.
 * Deviation: white noise reaches to half the sample rate and no further, so at twice the rate the
 * same volts are spread over twice the band: 3 dB less in any band of hertz. A circuit's source
 * has a bandwidth of its own.
 */

import { define } from './definition.ts';
import { pinkFilter, redFilter } from './dsp/coloured.ts';
import { RAIL_VOLTS, volts } from './facts.ts';

/** Peaks beyond four times the rms are one in 16 000: too rare to count as ordinary. */
const ORDINARY_PEAK = 4;
/** s. How long the filters have run, on separate noise, when the render begins. */
const WARM_UP = 0.1;

export const noise = define({
  kind: 'noise',
  about:
    'White, pink and red noise at once, from one random source. The same seed and module name ' +
    'give the same noise every time; another name gives other noise.',
  settings: {
    level: {
      type: 'voltage',
      min: 0.01,
      max: 3,
      fallback: 1.25,
      toldBy: 'level',
      about: 'The rms: of white noise in full, of pink and red noise from 20 Hz to 20 kHz.',
    },
  },
  jacks: ({ level }) => {
    const peak = Math.min(RAIL_VOLTS, ORDINARY_PEAK * level);
    const facts = volts(-peak, peak);
    return [
      {
        name: 'white',
        direction: 'out',
        signal: 'audio',
        about: 'The same power in every hertz.',
        facts,
      },
      {
        name: 'pink',
        direction: 'out',
        signal: 'audio',
        about: 'The same power in every octave.',
        facts,
      },
      {
        name: 'red',
        direction: 'out',
        signal: 'audio',
        about: 'Half the power in each octave up.',
        facts,
      },
    ];
  },
  role: 'circuit',
  // Most patches use white noise alone, and the filters cost more than the noise.
  create: ({ level }, site) => {
    const seeds = site.seeds('noise');
    if (!site.patched('pink') && !site.patched('red')) {
      site.make('whiteNoise', site.output('white'), level, ...seeds);
      return;
    }
    const pink = pinkFilter(site.sampleRate);
    const red = redFilter(site.sampleRate);
    const made = site.make(
      'colouredNoise',
      ...['white', 'pink', 'red'].map(site.heard),
      level,
      pink.direct * level,
      red.zero,
      red.decay,
      red.pull,
      red.gain * level,
      ...seeds,
    );
    pink.poles.forEach((pole, k) => {
      site.call('colouredNoisePole', made, k, pole, (pink.weights[k] as number) * level);
    });
    site.call('colouredNoisePole', made, pink.poles.length, -pink.topPole, pink.top * level);
    const samples = Math.round(WARM_UP * site.sampleRate);
    site.call('colouredNoiseWarmUp', made, samples, ...site.seeds('warm-up'));
  },
  example: `title: A burst of pink noise
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:  { kind: noise, level: 1.5 V }
  shape: { kind: envelope, decay: 90 ms, sustain: 0 %, release: 90 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hit -> shape.trigger
  - shape.out -> level.control
  - hiss.pink -> level.in
  - level.out -> out.left
`,
});
