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
 * memory; the ratios here are computed anew from its frequency equation, as a test does again).
 * Deviation: a cymbal is not flat and has hundreds of modes; six pulses stand in for them with their
 * harmonics.
 * Deviation: the waves come 3 samples late, which is what the band-limiting takes.
 * Deviation: a frequency stops at 0.45 of the sample rate.
 * Deviation: no drift. The phases at the start are random, but the same for the same seed.
 */

import { type Circuit, define, type NumberSpec, type Site, type Values } from './definition.ts';
import { Corrections } from './dsp/band-limited-step.ts';
import { exp2 } from './dsp/math.ts';
import { toRails } from './dsp/rails.ts';
import { Random } from './dsp/random.ts';
import { plain, volts } from './facts.ts';

const OSCILLATORS = 6;
/** The first so many make `low`, the others `high`. */
const HALF = 3;
/** V of one pulse, so that a half swings 5 V either side of ground. */
const SWING = 5 / 3;
/** Cycles a sample at most. */
const FASTEST = 0.45;

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
    RATIOS.forEach((ratio, oscillator) => {
      site.call('clusterTune', made, oscillator, (values[ratio] * values.base) / site.sampleRate);
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

class ClusterCircuit implements Circuit {
  /** V, as are the others. */
  out = 0;
  low = 0;
  high = 0;

  private readonly width: number;
  // Made where they are declared: V8 then takes each array for a constant.
  /** Of each oscillator: cycles a sample at 0 V, and now. */
  private readonly bases = new Float64Array(OSCILLATORS);
  private readonly steps = new Float64Array(OSCILLATORS);
  /** Phase in cycles, 0 to 1, and where in it the next edge comes: the width, or 1. */
  private readonly phases = new Float64Array(OSCILLATORS);
  private readonly edges = new Float64Array(OSCILLATORS);
  private readonly lowCorrections = new Corrections();
  private readonly highCorrections = new Corrections();
  /** Volts that `steps` are for; none at first. */
  private pitch = Number.NaN;
  /** Plain pulses of each half, those high less those low: now, and one to three samples ago (KERNEL_DELAY). */
  private low0 = 0;
  private low1 = 0;
  private low2 = 0;
  private low3 = 0;
  private high0 = 0;
  private high1 = 0;
  private high2 = 0;
  private high3 = 0;

  constructor(values: Values<typeof settings>, site: Site) {
    const random = new Random(site.seeds('phases'));
    const width = values.width;
    this.width = width;
    const ratios = [
      values['ratio-1'],
      values['ratio-2'],
      values['ratio-3'],
      values['ratio-4'],
      values['ratio-5'],
      values['ratio-6'],
    ];
    ratios.forEach((one, k) => {
      const phase = random.uniform();
      const high = phase < width;
      this.bases[k] = (one * values.base) / site.sampleRate;
      this.phases[k] = phase;
      this.edges[k] = high ? width : 1;
      if (k < HALF) this.low0 += high ? 1 : -1;
      else this.high0 += high ? 1 : -1;
    });
    this.low1 = this.low2 = this.low0;
    this.high1 = this.high2 = this.high0;
  }

  run(pitch: number): void {
    if (pitch !== this.pitch) {
      this.pitch = pitch;
      this.retune();
    }
    this.low3 = this.low2;
    this.low2 = this.low1;
    this.low1 = this.low0;
    this.high3 = this.high2;
    this.high2 = this.high1;
    this.high1 = this.high0;
    const { phases, steps, edges } = this;
    for (let k = 0; k < phases.length; k++) {
      const phase = (phases[k] as number) + (steps[k] as number);
      phases[k] = phase;
      if (phase >= (edges[k] as number)) this.pass(k);
    }
    const low = SWING * this.low3 + this.lowCorrections.take();
    const high = SWING * this.high3 + this.highCorrections.take();
    this.low = low;
    this.high = high;
    this.out = toRails(low + high);
  }

  private retune(): void {
    const { bases, steps } = this;
    const scale = exp2(this.pitch);
    for (let k = 0; k < bases.length; k++)
      steps[k] = Math.min((bases[k] as number) * scale, FASTEST);
  }

  /** Makes good the edges that an oscillator passed since the last sample: one or two. */
  private pass(k: number): void {
    const { width, phases, edges } = this;
    const step = this.steps[k] as number;
    let phase = phases[k] as number;
    let edge = edges[k] as number;
    while (phase >= edge) {
      const rises = edge === 1;
      if (rises) phase -= 1;
      const sign = rises ? 1 : -1;
      const since = (rises ? phase : phase - edge) / step;
      edge = rises ? width : 1;
      if (k < HALF) {
        this.low0 += 2 * sign;
        this.lowCorrections.addStep(2 * SWING * sign, since);
      } else {
        this.high0 += 2 * sign;
        this.highCorrections.addStep(2 * SWING * sign, since);
      }
    }
    phases[k] = phase;
    edges[k] = edge;
  }
}
