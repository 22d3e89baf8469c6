/**
 * How the power of a part of a voice changes over time, as the windows of the comparison show it: the
 * power of a steady sound under an envelope, or of a ring.
 *
 *   course(t) = mean of p(u) by the square of a Hann window around t, nothing before the onset
 *
 * Where p falls by exp(-r u) all through a window, that mean is p(t) times the mean of exp(-r u) around 0.
 *
 * Envelopes as src/modules/envelope.ts has them, rings as src/modules/resonator.ts.
 */

import { LONG_WINDOW, SHORT_WINDOW } from '../../measure/likeness/band-frames.ts';

/** One envelope: times in s, as its settings are. */
export interface Shape {
  readonly attack: number;
  readonly decay: number;
  readonly curve: 'exponential' | 'linear';
}

/** A power over time, s. */
export interface Power {
  readonly at: (time: number) => number;
  /** When it begins to fall evenly, and its rate then, in nepers of power a second; null if it never does. */
  readonly tail: { readonly from: number; readonly rate: number } | null;
}

/** By stretch, through each of the two windows. */
export interface Course {
  readonly short: Float64Array;
  readonly long: Float64Array;
}

/** Samples of a window; a fall within it is smooth. */
const SAMPLES = 8;
/** The attack charges towards 1.5 of the peak. */
const AIM = 1.5;
const ATTACK_CONSTANTS = Math.log(AIM / (AIM - 1));
/** Time constants of a decay, twice, since this is power. */
const DECAY_CONSTANTS = 10;
/** ... and of a fall by 60 dB. */
const FALL_CONSTANTS = 2 * Math.log(1000);

const WEIGHTS = weightsOf();

/** The power of an envelope at a time after its trigger, 1 at its peak. */
export function shapePower({ attack, decay, curve }: Shape): Power {
  if (curve === 'linear') {
    const at = (time: number): number => {
      const level = time < attack ? time / attack : Math.max(0, 1 - (time - attack) / decay);
      return level * level;
    };
    return { at, tail: null };
  }
  const rate = DECAY_CONSTANTS / decay;
  const at = (time: number): number => {
    if (time >= attack) return Math.exp(-rate * (time - attack));
    return (AIM * (1 - Math.exp((-ATTACK_CONSTANTS * time) / attack))) ** 2;
  };
  return { at, tail: { from: attack, rate } };
}

/** The power of a ring that falls by 60 dB in a time, 1 at the stroke. */
export function ringPower(decay: number): Power {
  const rate = FALL_CONSTANTS / decay;
  return { at: (time) => Math.exp(-rate * time), tail: { from: 0, rate } };
}

/** @param moments of each stretch, s: {@link HeardPowers}. */
export function courseOf(
  { at: powerAt, tail }: Power,
  moments: readonly (readonly number[])[],
): Course {
  const through = (window: number): Float64Array => {
    const even = tail === null ? Number.POSITIVE_INFINITY : tail.from + window / 2;
    let mean = 0;
    if (tail !== null)
      for (const [place, weight] of WEIGHTS) mean += weight * Math.exp(-tail.rate * place * window);
    return Float64Array.from(moments, (times) => {
      let sum = 0;
      for (const time of times) {
        if (time >= even) {
          sum += mean * powerAt(time);
          continue;
        }
        for (const [place, weight] of WEIGHTS) {
          const at = time + place * window;
          if (at >= 0) sum += weight * powerAt(at);
        }
      }
      return sum / times.length;
    });
  };
  return { short: through(SHORT_WINDOW), long: through(LONG_WINDOW) };
}

/** Places in a window, from -1/2 to 1/2, and their shares of its power. */
function weightsOf(): readonly (readonly [place: number, weight: number])[] {
  const places = Array.from({ length: SAMPLES }, (_, k) => (k + 0.5) / SAMPLES);
  const weights = places.map((place) => Math.sin(Math.PI * place) ** 4);
  const sum = weights.reduce((all, one) => all + one, 0);
  return places.map((place, k) => [place - 0.5, (weights[k] as number) / sum]);
}
