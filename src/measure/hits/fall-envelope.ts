/** The level of a hit from its loudest moment on, from which its fall is read. */

import { largest } from '../../modules/dsp/extremes.ts';
import { type Decay, type HitStretch, leastPower } from './decay.ts';
import { powerEnvelope } from './envelope.ts';
import { floorUnder } from './envelope-fit.ts';

export interface FallEnvelope {
  /** Mean square at each point, the first being the loudest; and of the floor, 0 for none. */
  readonly power: Float64Array;
  readonly floor: number;
  /** Under this power the recording's steps are coarser than the sound; 0 for none. */
  readonly least: number;
  /** The time from point to point, and the time that a point is smoothed over, s. */
  readonly step: number;
  readonly window: number;
  /** The time between the first and the last point that are as loud as the loudest, to 1 dB, s. */
  readonly top: number;
  /** By how much the smoothing lowers the loudest, more than the fall explains, dB: a fast fall came first. */
  readonly lostDb: number;
}

const SHORTEST_WINDOW = 0.0005;
const LONGEST_WINDOW = 0.06;

/** To this share of its power, -1 dB, any point might be the loudest: chance, or another draw of noise, decides. */
const AS_LOUD = 10 ** -0.1;

/** A window of this share shows what a fast first fall loses; by less than this, chance explains it, dB. */
const SHORTER = 0.25;
const CHANCE_DB = 1;
const DB = 20 / Math.LN10;

/** A fall by 60 dB is so many time constants. */
const CONSTANTS = Math.log(1000);

/**
 * Gives it, as smooth as the slowest wave requires, or as a third of the fall allows.
 * @param edt the early decay time, s, for a fall that is fast at first; null for not known.
 */
export function fallEnvelope(
  samples: Float64Array,
  stretch: HitStretch,
  { fit }: Decay,
  edt: number | null,
): FallEnvelope {
  const { onset, end, sampleRate, lowHz, floor } = stretch;
  const tau = Math.min(fit?.tau ?? 0, (edt ?? Number.POSITIVE_INFINITY) / CONSTANTS);
  const wanted = Math.max(SHORTEST_WINDOW, 1 / lowHz, tau / 3);
  const window = Math.min(LONGEST_WINDOW, wanted);
  const { power, step } = powerEnvelope(samples, { from: onset, to: end, sampleRate, window });
  let loudest = 0;
  for (let i = 1; i < power.length; i++) {
    if ((power[i] as number) > (power[loudest] as number)) loudest = i;
  }
  const lostDb = () => {
    const short = Math.max(SHORTEST_WINDOW, 1 / lowHz, SHORTER * window);
    if (short > window / 2) return 0;
    const to = Math.min(end, onset + Math.ceil(2 * window * sampleRate));
    const finer = powerEnvelope(samples, { from: onset, to, sampleRate, window: short });
    const louder = 10 * Math.log10(largest(finer.power) / (power[loudest] as number));
    const explained = fit === null ? 0 : (DB * (window - short)) / 2 / fit.tau;
    return Math.max(0, louder - explained - CHANCE_DB);
  };
  const isAsLoud = (value: number) => value >= AS_LOUD * (power[loudest] as number);
  const top = power.findLastIndex(isAsLoud) - power.findIndex(isAsLoud);
  return {
    power: power.subarray(loudest),
    floor: floorUnder(power, floor),
    least: leastPower(stretch),
    step,
    window,
    top: top * step,
    lostDb: lostDb(),
  };
}
