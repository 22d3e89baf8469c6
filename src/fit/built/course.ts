/**
 * How the power of a part of a voice changes over time, as the filters of the comparison show it: the
 * power of a steady sound under an envelope, or of a ring.
 *
 *   course(t) = integral of p(t - u) |h(u)|^2 du, nothing before the onset
 *
 * h is the envelope of a filter's response to an impulse: that of a Butterworth low-pass of the third order, as wide
 * as half the band (`measure/likeness/band-filters`). It is taken in a few pieces, each over all of its time, so that
 * no burst falls between two of them. Envelopes as src/modules/envelope.ts has them, rings as src/modules/resonator.ts.
 */

import { FIRST_BAND, LAST_BAND } from '../../measure/likeness/band-frames.ts';
import { bandEdges } from '../../measure/spectrum/bands.ts';

/** One envelope: times in s, as its settings are. */
export interface Shape {
  readonly attack: number;
  readonly decay: number;
  readonly curve: 'exponential' | 'linear';
}

/**
 * Fills in the energy of a part from each of some times on, s at its peak; from 0 on, all of it. Of many times at
 * once: a number that a function returns is an object of its own.
 * @param slopes filled in if given: how it changes with the logarithm of the decay, and with that of the attack.
 */
export type EnergiesFrom = (
  times: Float64Array,
  energies: Float64Array,
  slopes?: readonly Float64Array[],
) => void;

/** By filter ({@link filterOf}), then by stretch. */
export type BandCourse = readonly Float64Array[];

/** By filter: for each stretch and piece of |h|^2 its time, from one and up to another, s, and its weight. */
export type Windows = readonly {
  readonly pieces: number;
  readonly times: Float64Array;
  readonly weights: Float64Array;
  /** What a course and its slopes are worked out in. */
  readonly work: readonly [energies: Float64Array, byDecay: Float64Array, byAttack: Float64Array];
}[];

/** A piece of |h|^2: its time, from one and up to another, s, and its share. */
interface EnergyPiece {
  readonly from: number;
  readonly to: number;
  readonly share: number;
}

/** Bands of one octave count as equally wide, from 2 kHz on all. */
const TOGETHER = 3;
const FILTERS = 6;
/** Pieces end where so much of |h|^2 is over, the last having the rest too; from 800 Hz on all is short beside a frame. */
const ENDS = [0.15, 0.5, 0.85, 0.98, 1 - 1e-6];
const SHORT_ENDS = [0.5, 0.97];
const SHORT = 4;
/** The attack charges towards 1.5 of the peak. */
const AIM = 1.5;
const ATTACK_CONSTANTS = Math.log(AIM / (AIM - 1));
/** Time constants of a decay, twice, since this is power. */
const DECAY_CONSTANTS = 10;
/** ... and of a fall by 60 dB. */
const FALL_CONSTANTS = 2 * Math.log(1000);

const [RESPONSE, SHORT_RESPONSE] = [ENDS, SHORT_ENDS].map(responsePieces) as [
  EnergyPiece[],
  EnergyPiece[],
];
const PIECES = Array.from({ length: FILTERS }, (_, filter) => piecesOf(filter));

/** Which filter a band from 50 Hz up is seen through. */
export function filterOf(band: number): number {
  return Math.min(FILTERS - 1, Math.floor(band / TOGETHER));
}

/** ... of an envelope that is 1 at its peak. */
export function shapeEnergy(shape: Shape): EnergiesFrom {
  return shape.curve === 'linear' ? lineEnergy(shape) : chargeEnergy(shape);
}

function lineEnergy({ attack, decay }: Shape): EnergiesFrom {
  return (times, energies, [byDecay, byAttack] = []) => {
    for (let n = 0; n < times.length; n++) {
      const time = times[n] as number;
      let [energy, fallen, risen] = [0, 0, 0];
      if (time < attack) {
        const missed = time > 0 ? time ** 3 / attack ** 2 : 0;
        energy = decay / 3 + (attack - missed) / 3;
        fallen = decay / 3;
        risen = (attack + 2 * missed) / 3;
      } else {
        const left = Math.max(0, 1 - (time - attack) / decay);
        energy = (decay / 3) * left ** 3;
        fallen = energy + left ** 2 * (time - attack);
        risen = left ** 2 * attack;
      }
      energies[n] = energy;
      if (byDecay !== undefined) byDecay[n] = fallen;
      if (byAttack !== undefined) byAttack[n] = risen;
    }
  };
}

function chargeEnergy({ attack, decay }: Shape): EnergiesFrom {
  const tau = attack / ATTACK_CONSTANTS;
  // The integral of AIM^2 (1 - exp(-t/tau))^2, and how it changes with the logarithm of tau.
  const risen = (time: number): number =>
    AIM ** 2 *
    (time + 2 * tau * Math.expm1(-time / tau) - (tau / 2) * Math.expm1((-2 * time) / tau));
  const slower = (time: number): number => {
    const [s, once, twice] = [time / tau, Math.expm1(-time / tau), Math.expm1((-2 * time) / tau)];
    return AIM ** 2 * tau * (2 * once + 2 * s * (once + 1) - twice / 2 - s * (twice + 1));
  };
  // Proportional to the attack.
  const rise = attack > 0 ? risen(attack) : 0;
  const fall = decay / DECAY_CONSTANTS;
  return (times, energies, [byDecay, byAttack] = []) => {
    for (let n = 0; n < times.length; n++) {
      const time = times[n] as number;
      if (time < attack) {
        energies[n] = fall + rise - (time > 0 ? risen(time) : 0);
        if (byDecay !== undefined) byDecay[n] = fall;
        if (byAttack !== undefined) byAttack[n] = rise - (time > 0 ? slower(time) : 0);
        continue;
      }
      const over = (attack - time) / fall;
      const energy = fall * Math.exp(over);
      energies[n] = energy;
      if (byDecay !== undefined) byDecay[n] = energy * (1 - over);
      if (byAttack !== undefined) byAttack[n] = (energy / fall) * attack;
    }
  };
}

/** The level of an envelope a time after its start, 1 at its peak. */
export function shapeLevel({ attack, decay, curve }: Shape, time: number): number {
  if (time < attack)
    return curve === 'linear'
      ? time / attack
      : AIM * -Math.expm1((-ATTACK_CONSTANTS * time) / attack);
  const over = (time - attack) / decay;
  return curve === 'linear' ? Math.max(0, 1 - over) : Math.exp((-DECAY_CONSTANTS / 2) * over);
}

/** ... of a ring that falls by 60 dB in a time, 1 at the stroke. */
export function ringEnergy(decay: number): EnergiesFrom {
  const tau = decay / FALL_CONSTANTS;
  return (times, energies, [byDecay, byAttack] = []) => {
    // It has none.
    byAttack?.fill(0);
    for (let n = 0; n < times.length; n++) {
      const over = Math.max(0, times[n] as number) / tau;
      const energy = tau * Math.exp(-over);
      energies[n] = energy;
      if (byDecay !== undefined) byDecay[n] = energy * (1 + over);
    }
  };
}

/**
 * The times that each filter takes the mean over.
 * @param spans stretches of time, from one and up to another, s.
 */
export function windowsOf(spans: readonly (readonly [from: number, to: number])[]): Windows {
  return PIECES.map((pieces) => {
    const times = new Float64Array(2 * spans.length * pieces.length);
    const weights = new Float64Array(spans.length * pieces.length);
    let n = 0;
    for (const [from, to] of spans)
      for (const piece of pieces) {
        const middle = (from + to - piece.from - piece.to) / 2;
        // A mean over the piece of a mean over the stretch: as wide as both, whose variances add up.
        const half = Math.hypot(to - from, piece.to - piece.from) / 2;
        times[2 * n] = middle - half;
        times[2 * n + 1] = middle + half;
        weights[n++] = piece.share / (2 * half);
      }
    const room = (): Float64Array => new Float64Array(times.length);
    return { pieces: pieces.length, times, weights, work: [room(), room(), room()] };
  });
}

/** @param windows of the stretches: {@link windowsOf}. */
export function bandCourse(energiesFrom: EnergiesFrom, windows: Windows): BandCourse {
  return windows.map((window) => {
    const [energies] = window.work;
    energiesFrom(window.times, energies);
    return meansOf(energies, window);
  });
}

/** The course, and how it changes with the logarithm of the decay, and with that of the attack. */
export function bandSlopes(
  energiesFrom: EnergiesFrom,
  windows: Windows,
): { readonly own: BandCourse; readonly byDecay: BandCourse; readonly byAttack: BandCourse } {
  const rows = windows.map((window) => {
    const [energies, byDecay, byAttack] = window.work;
    energiesFrom(window.times, energies, [byDecay, byAttack]);
    return {
      own: meansOf(energies, window),
      byDecay: meansOf(byDecay, window),
      byAttack: meansOf(byAttack, window),
    };
  });
  return {
    own: rows.map(({ own }) => own),
    byDecay: rows.map(({ byDecay }) => byDecay),
    byAttack: rows.map(({ byAttack }) => byAttack),
  };
}

function meansOf(energies: Float64Array, { pieces, weights }: Windows[number]): Float64Array {
  const course = new Float64Array(weights.length / pieces);
  let n = 0;
  for (let k = 0; k < course.length; k++) {
    let sum = 0;
    for (let piece = 0; piece < pieces; piece++, n++)
      sum +=
        (weights[n] as number) * ((energies[2 * n] as number) - (energies[2 * n + 1] as number));
    course[k] = sum;
  }
  return course;
}

/** The pieces of the filter of a band in the middle of those that count as equally wide. */
function piecesOf(filter: number): readonly EnergyPiece[] {
  const x = Math.min(LAST_BAND, FIRST_BAND + TOGETHER * filter + (TOGETHER - 1) / 2);
  const [low, high] = bandEdges(x);
  const radians = Math.PI * (high - low);
  const response = filter < SHORT ? RESPONSE : SHORT_RESPONSE;
  return response.map(({ from, to, share }) => ({ from: from / radians, to: to / radians, share }));
}

/** ... of one with its edge at 1 rad/s: h = e^-x + e^(-x/2) (sin(rx)/sqrt 3 - cos(rx)), r = sqrt(3)/2. */
function responsePieces(ends: readonly number[]): readonly EnergyPiece[] {
  const [step, root] = [0.005, Math.sqrt(3)];
  const powers = Array.from({ length: 6000 }, (_, k) => {
    const x = (k + 0.5) * step;
    const turn = (root / 2) * x;
    return (Math.exp(-x) + Math.exp(-x / 2) * (Math.sin(turn) / root - Math.cos(turn))) ** 2;
  });
  const whole = powers.reduce((sum, one) => sum + one, 0);
  const pieces: { from: number; to: number; share: number }[] = [];
  let over = 0;
  let begun = 0;
  powers.forEach((power, k) => {
    over += power / whole;
    if (over < (ends[pieces.length] ?? Number.POSITIVE_INFINITY)) return;
    const from = pieces.at(-1)?.to ?? 0;
    pieces.push({ from, to: (k + 1) * step, share: over - begun });
    begun = over;
  });
  (pieces.at(-1) as (typeof pieces)[number]).share += 1 - begun;
  return pieces;
}
