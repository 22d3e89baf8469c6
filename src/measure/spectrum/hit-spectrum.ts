/** The spectrum of a hit: its first 170 ms or so, the last quarter fading out. */

import { addEnergy, binEdges, type Strips } from './spectrum.ts';
import { RealTransform } from './transform.ts';

/** The longest stretch that is looked at: the power of two of samples nearest to this, s. */
const LONGEST = 0.17;
const SMALLEST = 64;
const FADED = 0.25;

export class HitSpectrum {
  /** Samples of the longest stretch. */
  readonly longest: number;

  /** The result of the last call. */
  latest: Strips = { edges: new Float64Array(2), power: new Float64Array(1) };

  private readonly sampleRate: number;
  private readonly scopes = new Map<number, FrameSpectrum>();

  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    this.longest = Math.max(SMALLEST, 2 ** Math.round(Math.log2(LONGEST * sampleRate)));
  }

  /** The energy of the samples `from` to `to`, as many as fit; valid until the next call. */
  of(samples: Float64Array, from: number, to: number): Strips {
    const count = Math.min(to - from, this.longest);
    // 2n bins hold all of the power spectrum of n samples.
    const size = Math.min(this.longest, Math.max(SMALLEST, 2 ** Math.ceil(Math.log2(2 * count))));
    const scope = this.scopes.get(size) ?? new FrameSpectrum(size, this.sampleRate);
    this.scopes.set(size, scope);
    this.latest = scope.of(samples, from, count);
    return this.latest;
  }
}

class FrameSpectrum {
  private readonly frame: Float64Array;
  private readonly transform: RealTransform;
  private readonly energy: Float64Array;
  private readonly edges: Float64Array;

  constructor(size: number, sampleRate: number) {
    this.frame = new Float64Array(size);
    this.transform = new RealTransform(size);
    this.energy = new Float64Array(size / 2 + 1);
    this.edges = binEdges(size / 2 + 1, sampleRate);
  }

  of(samples: Float64Array, from: number, count: number): Strips {
    const { frame, transform, energy } = this;
    const fade = Math.floor(count * FADED);
    frame.set(samples.subarray(from, from + count));
    fadeOut(frame, count - fade, count);
    frame.fill(0, count);
    transform.run(frame);
    energy.fill(0);
    addEnergy(transform, energy);
    return { edges: this.edges, power: energy };
  }
}

/** Weights of cos^2, by a turn from each to the next: a sine for each sample would cost as much as all the rest. */
function fadeOut(frame: Float64Array, from: number, to: number): void {
  const angle = Math.PI / Math.max(1, to - from);
  const stepRe = Math.cos(angle);
  const stepIm = Math.sin(angle);
  let re = Math.cos(angle / 2);
  let im = Math.sin(angle / 2);
  for (let n = from; n < to; n++) {
    frame[n] = (frame[n] as number) * 0.5 * (1 + re);
    const next = re * stepRe - im * stepIm;
    im = re * stepIm + im * stepRe;
    re = next;
  }
}
