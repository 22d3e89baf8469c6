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

import { type Circuit, define, type Site } from './definition.ts';
import { pinkFilter, redFilter } from './dsp/coloured.ts';
import { Gaussian } from './dsp/gaussian.ts';
import { toRails } from './dsp/rails.ts';
import { RAIL_VOLTS, volts } from './facts.ts';

/** Peaks beyond four times the rms are one in 16 000: nobody would call them ordinary. */
const ORDINARY_PEAK = 4;
/** s. The filters have run this long, on noise of its own, when the render begins. */
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
    const { heard, seeds } = site;
    if (site.patched('pink') || site.patched('red'))
      site.make('colouredNoise', ...['white', 'pink', 'red'].map(heard), level, ...seeds('noise'));
    else site.make('whiteNoise', site.output('white'), level, ...seeds('noise'));
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

/** White alone, when nothing listens to the others: most hats and snares. */
class WhiteNoise implements Circuit {
  white = 0;
  private readonly level: number;
  private readonly gaussian: Gaussian;

  constructor(level: number, site: Site) {
    this.level = level;
    // Only the rare numbers of the tail can reach the rails, and are held there as they come.
    this.gaussian = new Gaussian(site.seeds('noise'), RAIL_VOLTS / level);
  }

  run(): void {
    this.gaussian.next();
    this.white = this.level * this.gaussian.value;
  }
}

/** The same white noise, and the two filters behind it. */
class ColouredNoise implements Circuit {
  white = 0;
  pink = 0;
  red = 0;

  private readonly level: number;
  private gaussian: Gaussian;

  // Pink: five poles from the lowest up, then the shared top. Fields need no bounds checks.
  private readonly p0: number;
  private readonly p1: number;
  private readonly p2: number;
  private readonly p3: number;
  private readonly p4: number;
  private readonly w0: number;
  private readonly w1: number;
  private readonly w2: number;
  private readonly w3: number;
  private readonly w4: number;
  private readonly topPole: number;
  private readonly topWeight: number;
  private readonly direct: number;
  private s0 = 0;
  private s1 = 0;
  private s2 = 0;
  private s3 = 0;
  private s4 = 0;
  private top = 0;

  private readonly redZero: number;
  private readonly redDecay: number;
  private readonly redPull: number;
  private readonly redGain: number;
  private redState = 0;
  private redSum = 0;

  constructor(level: number, site: Site) {
    this.level = level;
    this.gaussian = new Gaussian(site.seeds('warm-up'));
    const pink = pinkFilter(site.sampleRate);
    [this.p0, this.p1, this.p2, this.p3, this.p4] = pink.poles as Five;
    [this.w0, this.w1, this.w2, this.w3, this.w4] = pink.weights.map((w) => w * level) as Five;
    this.topPole = pink.topPole;
    this.topWeight = pink.top * level;
    this.direct = pink.direct * level;
    const red = redFilter(site.sampleRate);
    this.redZero = red.zero;
    this.redDecay = red.decay;
    this.redPull = red.pull;
    this.redGain = red.gain * level;
    for (let n = Math.round(WARM_UP * site.sampleRate); n > 0; n--) this.run();
    this.gaussian = new Gaussian(site.seeds('noise'));
  }

  run(): void {
    this.gaussian.next();
    const x = this.gaussian.value;
    this.white = toRails(this.level * x);

    const s0 = this.p0 * this.s0 + x;
    const s1 = this.p1 * this.s1 + x;
    const s2 = this.p2 * this.s2 + x;
    const s3 = this.p3 * this.s3 + x;
    const s4 = this.p4 * this.s4 + x;
    const before = this.top;
    const top = x - this.topPole * before;
    this.s0 = s0;
    this.s1 = s1;
    this.s2 = s2;
    this.s3 = s3;
    this.s4 = s4;
    this.top = top;
    this.pink = toRails(
      this.w0 * s0 +
        this.w1 * s1 +
        this.w2 * s2 +
        (this.w3 * s3 + this.w4 * s4) +
        (this.topWeight * top + this.direct * x),
    );

    const red =
      this.redDecay * this.redState + (top + this.redZero * before) - this.redPull * this.redSum;
    this.redState = red;
    this.redSum += red;
    this.red = toRails(this.redGain * red);
  }
}

type Five = [number, number, number, number, number];
