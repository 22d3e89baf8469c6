/** How fast a hit rises. */

import { type Estimate, none } from '../estimate.ts';
import type { Stretch } from './decay.ts';
import { type Envelope, envelope, WINDOW_RISE } from './envelope.ts';

export interface Attack {
  /** From 10 to 90 % of the peak amplitude, s. */
  readonly rise: Estimate;
  /** From the onset to the peak, s. */
  readonly toPeak: number;
}

/** A rise within this many cycles is the wave's own as much as its envelope's. */
const OWN_CYCLES = 0.6;
const SHORTEST_WINDOW = 0.001;
/** A rise over fewer windows than this is measured again with a shorter one, over more with a longer. */
const WINDOWS_PER_RISE = 4;
const ROUNDS = 3;
/** The level of noise is told from a window this much longer, so that chance peaks do not set it. */
const LEVEL_WINDOWS = 4;

/**
 * Measures the attack.
 * @param hz the pitch of a sound whose wave repeats; null for noise, whose single samples say little.
 */
export function measureAttack(samples: Float64Array, stretch: Stretch, hz: number | null): Attack {
  return hz === null ? ofNoise(samples, stretch) : ofTone(samples, stretch, hz);
}

/** The first time the wave itself reaches 10 and 90 % of its peak. */
function ofTone(samples: Float64Array, { onset, end, sampleRate }: Stretch, hz: number): Attack {
  let peak = 0;
  let peakAt = onset;
  for (let n = onset; n < end; n++) {
    const magnitude = Math.abs(samples[n] as number);
    if (magnitude > peak) {
      peak = magnitude;
      peakAt = n;
    }
  }
  if (peak === 0) return { rise: none('silent'), toPeak: 0 };
  const tenth = firstAt(samples, onset, 0.1 * peak);
  const value = (firstAt(samples, tenth, 0.9 * peak) - tenth) / sampleRate;
  const isSharp = value < OWN_CYCLES / hz;
  return {
    rise: {
      value,
      reliability: isSharp ? 0.5 : 1,
      reason: isSharp ? 'resolution' : null,
    },
    toPeak: (peakAt - onset) / sampleRate,
  };
}

/** The first sample from `from` on of at least this magnitude; there must be one. */
function firstAt(samples: Float64Array, from: number, magnitude: number): number {
  let n = from;
  while (Math.abs(samples[n] as number) < magnitude) n++;
  return n;
}

function ofNoise(samples: Float64Array, stretch: Stretch): Attack {
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
      reliability: isSharp ? 0.3 : 0.8,
      reason: isSharp ? 'resolution' : null,
    },
    toPeak: found.toPeak,
  };
}

function riseOf(samples: Float64Array, stretch: Stretch, window: number) {
  const { onset, end, sampleRate, floor } = stretch;
  const lead = Math.min(onset, Math.round(window * sampleRate));
  const curve = envelope(samples, { from: onset - lead, to: end, sampleRate, window });
  const long = envelope(samples, {
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

function loudest({ power, start, step }: Envelope): { power: number; at: number } | null {
  let best = 0;
  for (let i = 1; i < power.length; i++) {
    if ((power[i] as number) > (power[best] as number)) best = i;
  }
  const value = power[best];
  return value === undefined ? null : { power: value, at: start + best * step };
}

/** When the envelope first reaches a level, between its points, s. */
function crossing({ power, start, step }: Envelope, level: number): number | null {
  for (let i = 0; i < power.length; i++) {
    const here = power[i] as number;
    if (here < level) continue;
    const before = i === 0 ? here : (power[i - 1] as number);
    const part = here > before ? (here - level) / (here - before) : 0;
    return start + (i - part) * step;
  }
  return null;
}
