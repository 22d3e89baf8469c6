/** Signals whose measures are known beforehand: seeded noise and hits that decay exponentially. */

import seedrandom from 'seedrandom';

/** Gaussian numbers of standard deviation 1 (Box & Muller, 1958). */
export function gaussian(seed: string): () => number {
  const random = seedrandom.alea(seed);
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

export function noise(length: number, rms: number, seed: string): Float64Array {
  const next = gaussian(seed);
  return Float64Array.from({ length }, () => rms * next());
}

export function tone(
  length: number,
  options: { hz: number; amplitude: number; sampleRate: number; phase?: number },
): Float64Array {
  const { hz, amplitude, sampleRate, phase = 0 } = options;
  return Float64Array.from(
    { length },
    (_, n) => amplitude * Math.sin((2 * Math.PI * hz * n) / sampleRate + phase),
  );
}

export interface HitSpec {
  /** Seconds; the hit starts with the first sample at or after it. */
  readonly at: number;
  /** Time constant of the amplitude, s. */
  readonly tau: number;
  /** Amplitude at the start: the peak of a tone, the rms of noise. */
  readonly amplitude: number;
  /** A tone of this frequency; noise if left out. */
  readonly hz?: number;
  /** Octaves the pitch falls through, and the time constant of the fall, s. */
  readonly fall?: { readonly octaves: number; readonly tau: number };
  /** A straight rise of this many seconds comes first. */
  readonly attack?: number;
  readonly phase?: number;
  /** Whose noise it is. */
  readonly seed?: string;
  /** Cut off this long after the start, s. */
  readonly until?: number;
}

/** Adds a hit to a signal. */
export function addHit(signal: Float64Array, sampleRate: number, hit: HitSpec): void {
  const next = gaussian(`hit ${hit.seed ?? ''} at ${hit.at}`);
  const { attack = 0, tau, amplitude, until = Number.POSITIVE_INFINITY } = hit;
  let cycles = (hit.phase ?? 0) / (2 * Math.PI);
  const first = Math.ceil(hit.at * sampleRate - 1e-9);
  for (let n = first; n < signal.length; n++) {
    const t = (n - first) / sampleRate;
    if (t >= until) break;
    const envelope = t < attack ? t / attack : Math.exp(-(t - attack) / tau);
    const carrier = hit.hz === undefined ? next() : Math.sin(2 * Math.PI * cycles);
    signal[n] = (signal[n] as number) + amplitude * envelope * carrier;
    const octaves = hit.fall === undefined ? 0 : hit.fall.octaves * Math.exp(-t / hit.fall.tau);
    cycles += ((hit.hz ?? 0) * 2 ** octaves) / sampleRate;
  }
}

/** A recording of hits over a floor of noise. */
export function hits(
  seconds: number,
  sampleRate: number,
  specs: readonly HitSpec[],
  floor = 0,
  seed = 'floor',
): Float64Array {
  const length = Math.round(seconds * sampleRate);
  const signal = floor > 0 ? noise(length, floor, seed) : new Float64Array(length);
  for (const spec of specs) addHit(signal, sampleRate, spec);
  return signal;
}
