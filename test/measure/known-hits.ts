/**
 * Recordings of one hit whose attack, decay and pitch are known, with the usual defects of recordings:
 * coarse steps, hiss, hum, an offset, flat tops, a tail that is cut off.
 */

import seedrandom from 'seedrandom';
import { bandNoise, gaussian } from './synthesis.ts';

export interface KnownHit {
  readonly rate: number;
  readonly carrier:
    | { readonly kind: 'tone'; readonly hz: number; readonly phase: number }
    | { readonly kind: 'noise' }
    | { readonly kind: 'band'; readonly hz: number; readonly q: number };
  /** A straight rise, s; 0 for a hit that is there at once. */
  readonly attack: number;
  /** Time constant of the amplitude, s. */
  readonly tau: number;
  /** A second, slower fall: its level against the first, dB, and how much slower it is. */
  readonly second: { readonly db: number; readonly times: number } | null;
  /** Peak of a tone, or three deviations of noise, dBFS. */
  readonly db: number;
  readonly bits: 8 | 16 | 24 | null;
  readonly dithered: boolean;
  /** Noise, rms in dBFS. */
  readonly floor: number | null;
  readonly hum: { readonly hz: number; readonly db: number; readonly phase: number } | null;
  readonly offset: number;
  /** The limit as a share of the peak. */
  readonly clip: number | null;
  /** The recording ends so many time constants after the peak; null for long after it is silent. */
  readonly until: number | null;
  /** What comes before the hit, s. */
  readonly lead: number;
  readonly seed: number;
}

/** One of many hits, always the same for the same number. */
export function knownHit(seed: number): KnownHit {
  const random = seedrandom.alea(`known hit ${seed}`);
  const linear = (min: number, max: number) => min + (max - min) * random();
  const log = (min: number, max: number) => min * (max / min) ** random();
  const oneOf = <T>(...all: readonly T[]) => all[Math.floor(random() * all.length)] as T;
  const seldom = <T>(outOf: number, some: () => T) => (random() * outOf < 1 ? some() : null);
  const rate = oneOf(8000, 11_025, 22_050, 44_100, 44_100, 48_000, 48_000, 96_000, 192_000);
  const hz = (lowest: number) => log(lowest, Math.min(8000, 0.4 * rate));
  const carriers: readonly (() => KnownHit['carrier'])[] = [
    () => ({ kind: 'tone', hz: hz(40), phase: linear(0, 2 * Math.PI) }),
    () => ({ kind: 'tone', hz: hz(40), phase: 0 }),
    () => ({ kind: 'noise' }),
    () => ({ kind: 'band', hz: hz(100), q: log(0.5, 8) }),
  ];
  return {
    seed,
    rate,
    carrier: oneOf(...carriers)(),
    attack: seldom(4, () => 0) ?? log(0.0005, 0.05),
    tau: log(0.003, 0.44),
    second: seldom(4, () => ({ db: linear(-60, -10), times: log(2, 20) })),
    db: linear(-20, -1),
    bits: oneOf(8, 16, 16, 24, null),
    dithered: oneOf(true, false),
    floor: seldom(2, () => linear(-90, -30)),
    hum: seldom(5, () => ({
      hz: oneOf(50, 60),
      db: linear(-70, -30),
      phase: linear(0, 2 * Math.PI),
    })),
    offset: seldom(5, () => linear(-0.3, 0.3)) ?? 0,
    clip: seldom(8, () => linear(0.3, 0.9)),
    until: seldom(4, () => linear(0.3, 5)),
    lead: seldom(4, () => 0) ?? linear(0.02, 0.2),
  };
}

/** The amplitude without wave and damage, 1 at the peak of the first fall. */
function shapeOf({ attack, tau, second }: KnownHit, t: number): number {
  if (t < 0) return 0;
  if (t < attack) return t / attack;
  const first = Math.exp(-(t - attack) / tau);
  if (second === null) return first;
  const gain = 10 ** (second.db / 20);
  // Powers add, as of parts that do not belong together.
  return Math.hypot(first, gain * Math.exp(-(t - attack) / (tau * second.times)));
}

export function recordingOf(hit: KnownHit): Float64Array {
  const { rate, carrier, attack, tau, second, lead, until } = hit;
  // 78 dB of the fall; of a slow one as much as two seconds more hold.
  const whole = 9 * tau + (second === null ? 0 : Math.min(2, 4 * second.times * tau)) + 0.1;
  const end = Math.round((lead + attack + (until === null ? whole : until * tau)) * rate);
  const next = gaussian(`hit ${hit.seed}`);
  const amplitude = 10 ** (hit.db / 20) / (carrier.kind === 'tone' ? 1 : 3);
  const filtered =
    carrier.kind === 'band' ? bandNoise(end, carrier, rate, `band ${hit.seed}`) : null;
  const onset = Math.round(lead * rate);
  const limit = hit.clip === null ? Number.POSITIVE_INFINITY : hit.clip * 10 ** (hit.db / 20);
  const hiss = hit.floor === null ? 0 : 10 ** (hit.floor / 20);
  const floor = gaussian(`floor ${hit.seed}`);
  const dither = gaussian(`dither ${hit.seed}`);
  const samples = new Float64Array(end);
  for (let n = 0; n < end; n++) {
    const t = (n - onset) / rate;
    const wave =
      carrier.kind === 'tone'
        ? Math.sin(2 * Math.PI * carrier.hz * t + carrier.phase)
        : carrier.kind === 'noise'
          ? next()
          : (filtered?.[n] as number);
    let x = amplitude * shapeOf(hit, t) * wave + hiss * floor() + hit.offset;
    if (hit.hum !== null) {
      const turns = hit.hum.hz * (n / rate);
      const level = 10 ** (hit.hum.db / 20);
      x += level * Math.sin(2 * Math.PI * turns + hit.hum.phase);
      x += 0.3 * level * Math.sin(6 * Math.PI * turns);
    }
    const full = hit.bits === null ? null : 2 ** (hit.bits - 1);
    if (full !== null && hit.dithered) x += (0.5 * dither()) / full;
    x = Math.max(-limit + hit.offset, Math.min(limit + hit.offset, x));
    if (full !== null) x = Math.round(x * full) / full;
    samples[n] = x;
  }
  return samples;
}

export interface Truth {
  /** From 10 to 90 % of the peak, s. */
  readonly attack: number;
  /** Time constant of the line through the first 30 dB of the fall, s. */
  readonly tau: number;
  /** Times of a fall by 60 dB, s: from 0 to -10, -5 to -25 and -5 to -35 dB of the energy to come. */
  readonly edt: number;
  readonly t20: number;
  readonly t30: number;
  /** From the peak until the level is down by 20, 40 and 60 dB, s. */
  readonly down: readonly [number, number, number];
  /** Null for noise. */
  readonly hz: number | null;
}

export function truthOf(hit: KnownHit): Truth {
  const { carrier, attack } = hit;
  return {
    attack: 0.8 * attack,
    tau: fallOf(hit),
    ...timesOf(hit),
    hz: carrier.kind === 'tone' ? carrier.hz : null,
  };
}

/** In closed form and by sums over the shape; of a second fall only what shows. */
function timesOf(known: KnownHit) {
  const { second, tau, attack } = known;
  const hit = { ...known, second: second !== null && shows(known) ? second : null };
  const slow = tau * (hit.second?.times ?? 1);
  const steps = 20_000;
  const step = (attack + 9 * slow) / steps;
  const toCome = new Float64Array(steps);
  let sum = 0;
  for (let n = steps - 1; n >= 0; n--) {
    sum += shapeOf(hit, (n + 0.5) * step) ** 2;
    toCome[n] = sum;
  }
  const level = toCome.map((energy) => 10 * Math.log10(energy / sum));
  const peak = shapeOf(hit, attack);
  const down = [20, 40, 60].map((db) => {
    let n = 0;
    while (shapeOf(hit, attack + n * step) > peak * 10 ** (-db / 20)) n++;
    return n * step;
  }) as [number, number, number];
  const time = (from: number, to: number) => drawnOut(level, step, from, to);
  return { edt: time(0, -10), t20: time(-5, -25), t30: time(-5, -35), down };
}

/** Whether a second fall is louder than what hides it, where it takes over from the first. */
function shows(hit: KnownHit): boolean {
  const { db = -200, times = 1 } = hit.second ?? {};
  // Both are as loud here: -x = db - x / times.
  const knee = db / (1 - 1 / times);
  return knee > hiddenUnder(hit);
}

/** The level under which end, hiss, hum or coarse steps hide a fall, dB against its peak. */
function hiddenUnder(hit: KnownHit): number {
  const coarse = hit.bits === null ? -200 : -6 * hit.bits + 6;
  const hidden = Math.max(hit.floor ?? -200, hit.hum?.db ?? -200, coarse);
  const loud = hit.db - (hit.carrier.kind === 'tone' ? 3 : 9.5);
  const ended = hit.until === null ? -200 : (-20 / Math.LN10) * hit.until;
  return Math.max(hidden - loud, ended);
}

/** The line through a curve between two levels, drawn out to 60 dB, s. */
export function drawnOut(level: Float64Array, step: number, from: number, to: number): number {
  let [count, t1, t2, y1, ty] = [0, 0, 0, 0, 0];
  for (const [n, db] of level.entries()) {
    if (db > from || db < to) continue;
    const t = n * step;
    count++;
    t1 += t;
    t2 += t * t;
    y1 += db;
    ty += t * db;
  }
  return (-60 * (count * t2 - t1 * t1)) / (count * ty - t1 * y1);
}

function fallOf(hit: KnownHit): number {
  if (hit.second === null) return hit.tau;
  const { attack, tau } = hit;
  const top = shapeOf(hit, attack);
  // Least squares through ln of the amplitude against time.
  let [count, t1, t2, y1, ty] = [0, 0, 0, 0, 0];
  const step = tau / 100;
  // What the end, hiss, hum or coarse steps hide is not known to anyone.
  const longest = hit.until === null ? Number.POSITIVE_INFINITY : hit.until * tau;
  const coarse = hit.bits === null ? -200 : -6 * hit.bits + 6;
  const hidden = Math.max(hit.floor ?? -200, hit.hum?.db ?? -200, coarse);
  const loud = hit.db - (hit.carrier.kind === 'tone' ? 3 : 9.5);
  const least = (-Math.min(30, Math.max(6, loud - hidden)) * Math.LN10) / 20;
  for (let t = 0; t < longest; t += step) {
    const value = Math.log(shapeOf(hit, attack + t) / top);
    if (value < least) break;
    count++;
    t1 += t;
    t2 += t * t;
    y1 += value;
    ty += t * value;
  }
  return -(count * t2 - t1 * t1) / (count * ty - t1 * y1);
}
