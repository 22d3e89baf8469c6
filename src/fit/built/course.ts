/**
 * How the power of a part of a voice changes over time, as the windows of the comparison show it: the
 * power of a steady sound under an envelope, or of a ring.
 *
 *   course(t) = mean of p(u) by the square of a Hann window around t, nothing before the onset
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
export function shapePower({ attack, decay, curve }: Shape): (time: number) => number {
  if (curve === 'linear')
    return (time) => {
      const level = time < attack ? time / attack : Math.max(0, 1 - (time - attack) / decay);
      return level * level;
    };
  return (time) => {
    if (time >= attack) return Math.exp((-DECAY_CONSTANTS * (time - attack)) / decay);
    return (AIM * (1 - Math.exp((-ATTACK_CONSTANTS * time) / attack))) ** 2;
  };
}

/** The power of a ring that falls by 60 dB in a time, 1 at the stroke. */
export function ringPower(decay: number): (time: number) => number {
  return (time) => Math.exp((-FALL_CONSTANTS * time) / decay);
}

/** @param moments of each stretch, s: {@link HeardPowers}. */
export function courseOf(
  power: (time: number) => number,
  moments: readonly (readonly number[])[],
): Course {
  const through = (window: number): Float64Array =>
    Float64Array.from(moments, (times) => {
      let sum = 0;
      for (const time of times)
        for (const [place, weight] of WEIGHTS) {
          const at = time + place * window;
          if (at >= 0) sum += weight * power(at);
        }
      return sum / times.length;
    });
  return { short: through(SHORT_WINDOW), long: through(LONG_WINDOW) };
}

/** Places in a window, from -1/2 to 1/2, and their shares of its power. */
function weightsOf(): readonly (readonly [place: number, weight: number])[] {
  const places = Array.from({ length: SAMPLES }, (_, k) => (k + 0.5) / SAMPLES);
  const weights = places.map((place) => Math.sin(Math.PI * place) ** 4);
  const sum = weights.reduce((all, one) => all + one, 0);
  return places.map((place, k) => [place - 0.5, (weights[k] as number) / sum]);
}
