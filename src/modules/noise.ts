/**
 * Noise: one random source, taken as it is (white) and through two fixed filters (pink, red).
 *
 *   white = level x, x Gaussian of rms 1, every sample independent of every other
 *   pink  = white through -3.01 dB an octave
 *   red   = white through -6.02 dB an octave
 *
 * `level` is the rms of white noise up to 24 kHz, and that of pink and of red noise from 20 Hz to
 * 20 kHz, whatever the sample rate: a hiss is as loud in every render. White noise ends there: at rates
 * over 52.8 kHz by a Butterworth low-pass of eighth order, 0.2 dB down at 20 kHz. Of pink and red noise
 * what lies outside the band comes on top: in all, pink has about 1.2 times its level, red 1.8 times.
 *
 * Source: dsp/gaussian.ts, dsp/random.ts, dsp/coloured.ts say where the methods are from. Low-pass: quality factors
 * 1/(2 cos((2k + 1) pi/16)), bilinear transform: Oppenheim & Schafer, Discrete-Time Signal Processing, 7
 * (from memory). That a circuit's source has a bandwidth of its own: common practice, no source.
 * Deviation: at lower rates white noise ends at half the sample rate, and has that much less in all, 4 % at
 * 44.1 kHz; nearly 48 kHz, it has up to 5 % more.
 */

import { define, type Handle, type Site } from './definition.ts';
import { pinkFilter, redFilter, WHITE_TO_HZ } from './dsp/coloured.ts';
import { cosTurns, tanTurns } from './dsp/math.ts';
import { RAIL_VOLTS, usualVolts } from './facts.ts';

/** Peaks beyond four times the rms are one in 16 000: too rare to count as ordinary. */
const ORDINARY_PEAK = 4;
/** Up to this share of it above, white noise is not cut off. */
const ABOVE = 1.1;
/** Of two poles each. */
const SECTIONS = 4;
/** s. How long the filters have run, on separate noise, when the render begins. */
const WARM_UP = 0.1;

export const noise = define({
  kind: 'noise',
  alsoCalled: ['white', 'pink', 'hiss'],
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
      about: 'The rms: of white noise up to 24 kHz, of pink and red noise from 20 Hz to 20 kHz.',
    },
  },
  jacks: ({ level }) => {
    const peak = Math.min(RAIL_VOLTS, ORDINARY_PEAK * level);
    const facts = usualVolts(-peak, peak);
    return [
      {
        name: 'white',
        direction: 'out',
        signal: 'audio',
        about: 'The same power in every hertz.',
        facts,
        noise: 'white',
      },
      {
        name: 'pink',
        direction: 'out',
        signal: 'audio',
        about: 'The same power in every octave.',
        facts,
        noise: 'pink',
      },
      {
        name: 'red',
        direction: 'out',
        signal: 'audio',
        about: 'Half the power in each octave up.',
        facts,
        noise: 'red',
      },
    ];
  },
  role: 'circuit',
  isSeeded: true,
  // Most patches use white noise alone, and the filters cost more than the noise.
  create: ({ level }, site) => {
    const seeds = site.seeds('noise');
    const whiteLevel = level * Math.sqrt(site.sampleRate / (2 * WHITE_TO_HZ));
    if (!site.patched('pink') && !site.patched('red')) {
      endWhite(site.make('whiteNoise', site.output('white'), whiteLevel, ...seeds), site);
      return;
    }
    const pink = pinkFilter(site.sampleRate);
    const red = redFilter(site.sampleRate);
    const made = site.make(
      'colouredNoise',
      ...['white', 'pink', 'red'].map(site.heard),
      whiteLevel,
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
    endWhite(made, site);
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

/** Has a circuit's white noise end where it ends at 48 kHz. */
function endWhite(made: Handle, site: Site): void {
  const turns = WHITE_TO_HZ / site.sampleRate;
  if (turns * ABOVE > 0.5) return;
  const gain = tanTurns(turns / 2);
  for (let k = 0; k < SECTIONS; k++) {
    const damping = 2 * cosTurns((2 * k + 1) / (8 * SECTIONS));
    const a0 = 1 + gain * (damping + gain);
    const a1 = (2 * (gain * gain - 1)) / a0;
    const a2 = (1 - gain * (damping - gain)) / a0;
    site.call('noiseSection', made, SECTIONS, k, (gain * gain) / a0, a1, a2);
  }
}
