/** Brings a signal down to a whole fraction of its rate, block by block. */

import { kaiser, sinc } from './loudness/kaiser.ts';

/** Kaiser's estimate for 80 dB: taps = (80 - 7.95) / (14.36 x transition over the sample rate). */
const ATTENUATION_DB = 80;
const BETA = 0.1102 * (ATTENUATION_DB - 8.7);

/** A linear-phase low-pass and one sample kept of every `factor`. */
export class Decimator {
  readonly factor: number;
  /** How many samples the last call gave. */
  count = 0;

  private readonly taps: Float64Array;
  /** The last `taps - 1` samples, then the present block. */
  private held: Float64Array;
  private output = new Float64Array(0);
  /** Samples to skip until the next that is kept. */
  private skip: number;

  /**
   * @param factor a whole number; 1 changes nothing.
   * @param passEdge the frequency up to which the response is flat, as a share of the sample rate, under 0.5/factor.
   */
  constructor(factor: number, passEdge: number) {
    this.factor = factor;
    this.taps = factor === 1 ? Float64Array.of(1) : lowPassOf(passEdge, 1 / factor - passEdge);
    this.held = new Float64Array(this.taps.length - 1);
    this.skip = this.delay;
  }

  /** Half the filter's length: the first output lies on the first input sample. */
  private get delay(): number {
    return (this.taps.length - 1) / 2;
  }

  /**
   * Adds the first `frames` samples.
   * @returns the samples that have become known, `count` of them, valid until the next call.
   */
  run(samples: Float64Array, frames: number): Float64Array {
    const { taps, factor } = this;
    const past = taps.length - 1;
    if (this.held.length < past + frames) {
      const grown = new Float64Array(past + frames);
      grown.set(this.held.subarray(0, past));
      this.held = grown;
      this.output = new Float64Array(Math.ceil(frames / factor) + 1);
    }
    const { held, output } = this;
    held.set(samples.subarray(0, frames), past);
    let count = 0;
    let at = this.skip;
    for (; at + 3 * factor < frames; at += 4 * factor, count += 4) {
      fourProducts(taps, held, at, factor, output, count);
    }
    for (; at < frames; at += factor) output[count++] = product(taps, held, at);
    this.skip = at - frames;
    held.copyWithin(0, frames, frames + past);
    this.count = count;
    return output;
  }

  /** Ends the signal: silence pushes the last samples out of the filter. */
  flush(): Float64Array {
    return this.run(new Float64Array(this.delay), this.delay);
  }

  /** Reduces a whole signal by itself. */
  reduce(samples: Float64Array): Float64Array {
    this.held.fill(0);
    this.skip = this.delay;
    const reduced = new Float64Array(Math.ceil(samples.length / this.factor));
    const most = this.run(samples, samples.length).subarray(0, this.count);
    reduced.set(most);
    const rest = this.flush().subarray(0, this.count);
    reduced.set(rest.subarray(0, reduced.length - most.length), most.length);
    return reduced;
  }
}

/** One output: the products of the taps with the samples from `at` on. */
function product(taps: Float64Array, samples: Float64Array, at: number): number {
  let sum = 0;
  for (let j = 0; j < taps.length; j++) sum += (taps[j] as number) * (samples[at + j] as number);
  return sum;
}

/** Four outputs side by side: a sum has to wait for its last addition, and a tap is fetched once for all. */
function fourProducts(
  taps: Float64Array,
  samples: Float64Array,
  at: number,
  factor: number,
  output: Float64Array,
  place: number,
): void {
  let a = 0;
  let b = 0;
  let c = 0;
  let d = 0;
  for (let j = 0, n = at; j < taps.length; j++, n++) {
    const tap = taps[j] as number;
    a += tap * (samples[n] as number);
    b += tap * (samples[n + factor] as number);
    c += tap * (samples[n + 2 * factor] as number);
    d += tap * (samples[n + 3 * factor] as number);
  }
  output[place] = a;
  output[place + 1] = b;
  output[place + 2] = c;
  output[place + 3] = d;
}

const known = new Map<string, Float64Array>();

/** The taps, worked out once. */
function lowPassOf(passEdge: number, stopEdge: number): Float64Array {
  const name = `${passEdge} ${stopEdge}`;
  const taps = known.get(name) ?? lowPass(passEdge, stopEdge);
  known.set(name, taps);
  return taps;
}

/** Pass to `passEdge`, stop from `stopEdge` on, both as shares of the sample rate. */
function lowPass(passEdge: number, stopEdge: number): Float64Array {
  const span = (ATTENUATION_DB - 7.95) / (14.36 * (stopEdge - passEdge));
  const half = Math.ceil(span / 2);
  const cutoff = (passEdge + stopEdge) / 2;
  const taps = Float64Array.from({ length: 2 * half + 1 }, (_, n) => {
    const x = n - half;
    return 2 * cutoff * sinc(2 * cutoff * x) * kaiser(x / (half + 1), BETA);
  });
  const sum = taps.reduce((a, b) => a + b, 0);
  return taps.map((tap) => tap / sum);
}
