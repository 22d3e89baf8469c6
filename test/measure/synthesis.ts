/** Signals whose measures are known beforehand: seeded noise and hits that decay exponentially. */

import seedrandom from 'seedrandom';

/** Gaussian numbers of standard deviation 1 (Box & Muller, 1958). */
export function gaussian(seed: string): () => number {
  const random = seedrandom.alea(seed);
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

export function noise(length: number, rms: number, seed: string): Float64Array {
  const next = gaussian(seed);
  const samples = new Float64Array(length);
  for (let n = 0; n < length; n++) samples[n] = rms * next();
  return samples;
}

export function tone(
  length: number,
  options: { hz: number; amplitude: number; sampleRate: number; phase?: number },
): Float64Array {
  const { hz, amplitude, sampleRate, phase = 0 } = options;
  return new Float64Array(length).map(
    (_, n) => amplitude * Math.sin((2 * Math.PI * hz * n) / sampleRate + phase),
  );
}

/**
 * Noise of rms 1 through a resonance: a band-pass of second order by the bilinear transform
 * (Oppenheim & Schafer, from memory), `hz`/`q` wide.
 */
export function bandNoise(
  length: number,
  { hz, q }: { readonly hz: number; readonly q: number },
  sampleRate: number,
  seed: string,
): Float64Array {
  const next = gaussian(seed);
  const t = Math.tan((Math.PI * hz) / sampleRate);
  const norm = 1 / (1 + t / q + t * t);
  const [a1, a2] = [2 * (t * t - 1) * norm, (1 - t / q + t * t) * norm];
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  const samples = new Float64Array(length);
  let squares = 0;
  // Until it has come to its level.
  for (let n = -Math.ceil((10 * q * sampleRate) / hz); n < length; n++) {
    const x = next();
    const y = (t / q) * norm * (x - x2) - a1 * y1 - a2 * y2;
    x2 = x1;
    x1 = x;
    y2 = y1;
    y1 = y;
    if (n < 0) continue;
    samples[n] = y;
    squares += y * y;
  }
  const rms = Math.sqrt(squares / length);
  for (let n = 0; n < length; n++) samples[n] = (samples[n] as number) / rms;
  return samples;
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
  /** Noise through a resonance. */
  readonly band?: { readonly hz: number; readonly q: number };
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
  const seed = `hit ${hit.seed ?? ''} at ${hit.at}`;
  // Each once: hits are objects of many shapes, in which to find a property takes as long as a sine.
  const { attack = 0, tau, amplitude, until = Number.POSITIVE_INFINITY, hz, fall } = hit;
  let cycles = (hit.phase ?? 0) / (2 * Math.PI);
  const first = Math.ceil(hit.at * sampleRate - 1e-9);
  const next = hit.band === undefined ? gaussian(seed) : carried(hit.band, sampleRate, seed);
  for (let n = first; n < signal.length; n++) {
    const t = (n - first) / sampleRate;
    // What is left after so long is less than the last bit of how it began.
    if (t >= until || t - attack > 36 * tau) break;
    const envelope = t < attack ? t / attack : Math.exp(-(t - attack) / tau);
    const carrier = hz === undefined ? next() : Math.sin(2 * Math.PI * cycles);
    signal[n] = (signal[n] as number) + amplitude * envelope * carrier;
    if (hz === undefined) continue;
    const octaves = fall === undefined ? 0 : fall.octaves * Math.exp(-t / fall.tau);
    cycles += (hz * (octaves === 0 ? 1 : 2 ** octaves)) / sampleRate;
  }
}

function carried(
  band: { readonly hz: number; readonly q: number },
  sampleRate: number,
  seed: string,
): () => number {
  const samples = bandNoise(sampleRate, band, sampleRate, seed);
  let n = 0;
  return () => samples[n++ % sampleRate] as number;
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
