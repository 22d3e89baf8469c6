/** How fast a hit rises. */

import { type Estimate, HALF_RELIABLE, none, reliabilityOf } from '../estimate.ts';
import type { HitStretch } from './decay.ts';
import { type PowerEnvelope, powerEnvelope, WINDOW_RISE } from './envelope.ts';

export interface Attack {
  /** From 10 to 90 % of the peak amplitude, s. */
  readonly rise: Estimate;
  /** From the onset to the peak, s. */
  readonly toPeak: number;
}

/** A rise within this many cycles is due to the wave as much as to its envelope. */
const OWN_CYCLES = 0.6;
/** Only the crests of a wave show its level, so times are known to this share of a half cycle. */
const BETWEEN_CRESTS = 0.09;
/** On average half of that is unseen. */
const HALF_SEEN = 0.5;
/** Noise reaches 90 % early or late by chance: 10 to 20 % of the rise. */
const CHANCE = 0.15;
const SHORTEST_WINDOW = 0.001;
/** A rise over fewer windows than this is measured again with a shorter one, over more with a longer. */
const WINDOWS_PER_RISE = 4;
const ROUNDS = 3;
/** The level of noise is measured with a window this much longer, so that chance peaks do not set it. */
const LEVEL_WINDOWS = 4;

/**
 * Measures the attack.
 * @param pitch of a sound whose wave repeats; a value of null for noise, whose single samples say little.
 * @param decaySeconds time constant of the decay after it; null for not known.
 */
export function measureAttack(
  samples: Float64Array,
  stretch: HitStretch,
  pitch: Estimate,
  decaySeconds: number | null,
): Attack {
  if (pitch.value === null) return ofNoise(samples, stretch);
  const wave = { hz: pitch.value, clarity: pitch.reliability, decaySeconds };
  return ofTone(samples, stretch, wave);
}

interface Wave {
  readonly hz: number;
  readonly clarity: number;
  readonly decaySeconds: number | null;
}

/** A crest that is higher than all before it: when, in samples, and its height. */
interface Record {
  readonly at: number;
  readonly height: number;
}

function ofTone(
  samples: Float64Array,
  stretch: HitStretch,
  { hz, clarity, decaySeconds }: Wave,
): Attack {
  const { onset, sampleRate, before, floor } = stretch;
  const records = recordsOf(samples, stretch);
  const top = records[records.length - 1] as Record;
  if (records.length === 1) return { rise: none('silent'), toPeak: 0 };
  const wave = waveRise(samples, onset, top.height) / sampleRate;
  const isSharp = wave < OWN_CYCLES / hz;
  const value = isSharp
    ? wave
    : (reached(records, 0.9 * top.height) - reached(records, 0.1 * top.height)) / sampleRate;
  // The peak lies between two crests: rise and fall leave at most this much of it unseen.
  const unseen = 1 / (2 * hz) / (value + (decaySeconds ?? 0));
  const hidden = Math.hypot(BETWEEN_CRESTS / (2 * hz) / value, HALF_SEEN * unseen);
  const error = Math.hypot(hidden, Math.max(before, 3 * Math.sqrt(floor)) / top.height / 2);
  const reliability = clarity * reliabilityOf(error);
  return {
    rise: {
      value,
      reliability: isSharp ? Math.min(0.5, reliability) : reliability,
      reason: isSharp || hidden > HALF_RELIABLE / 3 ? 'resolution' : null,
    },
    toPeak: (top.at - onset) / sampleRate,
  };
}

/** The crests of both sides that set a record, after the onset at height 0. */
function recordsOf(samples: Float64Array, { onset, end }: HitStretch): readonly Record[] {
  const records: Record[] = [{ at: onset, height: 0 }];
  let highest = 0;
  let crest = onset;
  let height = 0;
  let wasPositive = false;
  for (let n = onset; n <= end; n++) {
    const here = n < end ? (samples[n] as number) : 0;
    const isPositive = here > 0;
    if (n === end || isPositive !== wasPositive) {
      // A crest that the end cuts off is one as well.
      if (height > highest) {
        highest = height;
        records.push(crestAt(samples, crest, height));
      }
      height = 0;
    }
    wasPositive = isPositive;
    const magnitude = isPositive ? here : -here;
    if (magnitude > height) {
      height = magnitude;
      crest = n;
    }
  }
  return records;
}

/** The top of a crest, by the parabola through its highest sample and the neighbours. */
function crestAt(samples: Float64Array, n: number, height: number): Record {
  const side = Math.sign(samples[n] as number);
  const left = side * (samples[n - 1] ?? 0);
  const right = side * (samples[n + 1] ?? 0);
  const bend = 2 * height - left - right;
  if (!(bend > 0) || left > height || right > height) return { at: n, height };
  const offset = (right - left) / (2 * bend);
  return { at: n + offset, height: height + ((right - left) * offset) / 4 };
}

/** When the line from record to record first reaches a height, in samples; the last must reach it. */
function reached(records: readonly Record[], height: number): number {
  const after = records.findIndex((record) => record.height >= height);
  const high = records[after] as Record;
  const low = records[after - 1] ?? high;
  const part = high.height > low.height ? (height - low.height) / (high.height - low.height) : 1;
  return low.at + part * (high.at - low.at);
}

/** How many samples the wave itself takes from 10 to 90 % of its peak. */
function waveRise(samples: Float64Array, onset: number, peak: number): number {
  // The highest sample may lie under the top of its crest, by 8 % at four samples a cycle.
  const tenth = firstAt(samples, onset, 0.1 * peak);
  return firstAt(samples, tenth, 0.9 * peak) - tenth;
}

/** The first sample from `from` on of at least this magnitude; the end if there is none. */
function firstAt(samples: Float64Array, from: number, magnitude: number): number {
  let n = from;
  while (n < samples.length && Math.abs(samples[n] as number) < magnitude) n++;
  return n;
}

function ofNoise(samples: Float64Array, stretch: HitStretch): Attack {
  let window = Math.max(SHORTEST_WINDOW, 1 / stretch.lowHz);
  let found = riseOf(samples, stretch, window);
  for (let round = 1; round < ROUNDS && found !== null; round++) {
    const next = Math.max(SHORTEST_WINDOW, 1 / stretch.lowHz, found.rise / WINDOWS_PER_RISE);
    if (Math.abs(next - window) < 0.2 * window) break;
    window = next;
    found = riseOf(samples, stretch, window);
  }
  if (found === null) return { rise: none('too-short'), toPeak: 0 };
  const own = WINDOW_RISE * window;
  const isSharp = found.rise < 1.5 * own;
  return {
    rise: {
      // Rise times of stages in a row add as squares (common practice, exact for Gaussian ones).
      value: Math.sqrt(Math.max(0, found.rise ** 2 - own ** 2)),
      reliability: reliabilityOf(isSharp ? 2 * CHANCE : CHANCE),
      reason: isSharp ? 'resolution' : null,
    },
    toPeak: found.toPeak,
  };
}

function riseOf(samples: Float64Array, stretch: HitStretch, window: number) {
  const { onset, end, sampleRate, floor } = stretch;
  const lead = Math.min(onset, Math.round(window * sampleRate));
  const curve = powerEnvelope(samples, { from: onset - lead, to: end, sampleRate, window });
  const long = powerEnvelope(samples, {
    from: onset,
    to: end,
    sampleRate,
    window: window * LEVEL_WINDOWS,
  });
  const top = loudest(long.power.length > 0 ? long : curve);
  if (top === null) return null;
  const level = Math.max(0, top.power - floor);
  const low = crossing(curve, 0.01 * level + floor);
  const high = crossing(curve, 0.81 * level + floor);
  if (low === null || high === null) return null;
  return { rise: Math.max(0, high - low), toPeak: Math.max(0, top.at - onset / sampleRate) };
}

function loudest({ power, start, step }: PowerEnvelope): { power: number; at: number } | null {
  let best = 0;
  for (let i = 1; i < power.length; i++) {
    if ((power[i] as number) > (power[best] as number)) best = i;
  }
  const value = power[best];
  return value === undefined ? null : { power: value, at: start + best * step };
}

/** When the envelope first reaches a level, between its points, s. */
function crossing({ power, start, step }: PowerEnvelope, level: number): number | null {
  for (let i = 0; i < power.length; i++) {
    const here = power[i] as number;
    if (here < level) continue;
    const before = i === 0 ? here : (power[i - 1] as number);
    const part = here > before ? (here - level) / (here - before) : 0;
    return start + (i - part) * step;
  }
  return null;
}
