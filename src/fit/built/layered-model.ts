/**
 * The powers by band and time, which add up, of a voice of layers of noise and struck tones, and their distance from
 * a recording's: worked out without a render, with its gradient by every setting.
 *
 *   S(b, t) = sum of layers: bank(b) x course(t), and of tones: p x spread(b, t) x course(t)
 *   far     = mean over bands and time of sqrt(e^2 + 1/4), e = 10 log10(M / R) dB,
 *             M^2 = (g S)^2 + floor^2
 *
 * R is at least its floor, as M is, and g makes the sums of both alike, as in the distance of two hits
 * (`hit-distance`). The root is |e| with a round bottom, so that it has a slope there. A bank whose levels jump from
 * band to band costs a little, so that levels that make no difference are smooth.
 */

import type { Colour } from '../../measure/dials/noise-colour.ts';
import { FIRST_BAND, FRAME_SECONDS } from '../../measure/likeness/band-frames.ts';
import type { Partial } from '../../measure/pitch/partials.ts';
import { midbandHz } from '../../measure/spectrum/bands.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { BankResponse, type FilterSide, sidePower, sideSlope } from './bank-response.ts';
import {
  type BandCourse,
  bandCourse,
  bandSlopes,
  filterOf,
  ringEnergy,
  type Shape,
  shapeEnergy,
  shapeLevel,
  type Windows,
} from './course.ts';
import { type DescentOptions, descended, type Slope } from './descent.ts';
import { type HeardPowers, pooled, windowsFrom } from './heard-powers.ts';

/** Noise through a bank of filters, with an envelope. */
export interface BankedLayer extends Shape {
  readonly colour: Colour;
  readonly side: FilterSide;
  readonly cutoffHz: number;
  /** Of the bands from 50 Hz up, by their amplitude. */
  readonly levels: Float64Array;
}

export interface LayeredParts {
  readonly layers: readonly BankedLayer[];
  readonly tones: readonly Partial[];
  /** Cutoff of a high-pass that all of it goes through, Hz; null for none. */
  readonly cutHz: number | null;
}

/** A term of the sum, at one place of its values. */
interface ModelTerm {
  /** Power by band and stretch, band after band. */
  readonly powers: Float64Array;
  /** Its own cost, dB. */
  readonly cost: number;
  /** The gradient along the part's values: of the cost, and of a quantity that changes by `pull` with each power. */
  readonly gradient: (pull: Float64Array) => Float64Array;
}

interface ModelPart {
  readonly start: Float64Array;
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly at: (values: Float64Array) => ModelTerm;
}

const STEPS = 80;
const DECIBELS = 10 / Math.LN10;
/** The round bottom, squared dB. */
const ROUND = 0.25;
/** Cost in dB of each squared neper between the levels of two neighbouring bands; chosen by trial, no source. */
const JUMP = 0.002;
/** Two rings whose decays differ by less than this logarithm spread alike. */
const ALIKE = 0.2;
/** Bounds of a part's values, s and Hz; a decay goes up to so many times the length of the hit. */
const DECAYS = { least: 0.005, most: 10, times: 4 };
const ATTACKS = [0.0003, 0.2] as const;
const CUTOFFS = [60, 9000] as const;
/** Where an onset is looked for after the stroke, s, and the share of its largest amplitude that noise has there. */
const LEADS = { most: 0.1, step: 0.00025, share: 0.15 };
/** Bounds of levels, which are never reached. */
const FREE = 60;

export class LayeredModel {
  private readonly heard: HeardPowers;
  private readonly windows: Windows;
  private readonly bank: BankResponse;
  /** By frequency, with the decay that each was found for. */
  private readonly spreads = new Map<number, { decay: number; spread: Float64Array }>();

  /** @param lead how long before the onset a voice is struck, s. */
  constructor(heard: HeardPowers, lead = 0) {
    this.heard = heard;
    this.windows = lead === 0 ? heard.windows : windowsFrom(heard.parts, lead);
    this.bank = new BankResponse(heard.powers.length);
  }

  /** Brings parts as near as possible from where they are. @returns them, and the distance, dB. */
  nearest({ layers, tones, cutHz }: LayeredParts): LayeredParts & { readonly db: number } {
    const parts = [
      ...layers.map((layer) => this.layerPart(layer)),
      ...tones.map((tone) => this.tonePart(tone)),
    ];
    const ends = (hz: number): readonly number[] => (cutHz === null ? [] : [Math.log(hz)]);
    const { place, value } = descended(
      (at) => this.slopeAt(parts, at),
      joined([...parts.map(({ start }) => start), ends(cutHz ?? 0)]),
      {
        low: joined([...parts.map(({ low }) => low), ends(CUTOFFS[0])]),
        high: joined([...parts.map(({ high }) => high), ends(CUTOFFS[1])]),
        steps: STEPS,
      } satisfies DescentOptions,
    );
    const values = valuesOf(parts, place);
    const { bands } = this.bank;
    return {
      db: value,
      cutHz: cutHz === null ? null : Math.exp(place.at(-1) as number),
      layers: layers.map((layer, index) => {
        const own = values[index] as Float64Array;
        const [decay, attack, cutoffHz] = own.subarray(bands).map(Math.exp) as unknown as [
          number,
          number,
          number,
        ];
        return { ...layer, levels: own.slice(0, bands).map(Math.exp), decay, attack, cutoffHz };
      }),
      tones: tones.map((tone, index) => {
        const own = values[layers.length + index] as Float64Array;
        const [amplitude, decay] = own.map(Math.exp) as unknown as [number, number];
        return { ...tone, amplitude, decay };
      }),
    };
  }

  /**
   * The distance, and its gradient.
   * @param place the values of all parts, one after another; then, if all goes through a high-pass, the logarithm of
   *   its cutoff.
   */
  slopeAt(parts: readonly ModelPart[], place: Float64Array): Slope {
    const { powers, floors, weights, energy } = this.heard;
    const count = weights.length;
    const terms = valuesOf(parts, place).map((values, index) =>
      (parts[index] as ModelPart).at(values),
    );
    const sums = new Float64Array(powers.length * count);
    for (const term of terms)
      for (let n = 0; n < sums.length; n++)
        sums[n] = (sums[n] as number) + (term.powers[n] as number);
    const own = parts.reduce((sum, { start }) => sum + start.length, 0);
    const cut = place.length > own ? Math.exp(place[own] as number) : null;
    const passed = powers.map((_, band) => (cut === null ? 1 : passedBy(cut, band)));
    let total = 0;
    for (let band = 0, n = 0; band < powers.length; band++)
      for (let k = 0; k < count; k++, n++) {
        const power = (sums[n] as number) * (passed[band] as number);
        sums[n] = power;
        total += power * (weights[k] as number);
      }
    const gain = energy / total;
    const all = powers.length * weights.reduce((sum, one) => sum + one, 0);
    const pull = new Float64Array(sums.length);
    let far = 0;
    let louder = 0;
    for (let band = 0, n = 0; band < powers.length; band++) {
      const aims = powers[band] as Float64Array;
      const floor = floors[band] as number;
      for (let k = 0; k < count; k++, n++) {
        const weight = (weights[k] as number) / all;
        const sound = gain * (sums[n] as number);
        const made = Math.sqrt(sound * sound + floor * floor);
        const error = DECIBELS * Math.log(made / (aims[k] as number));
        const size = Math.sqrt(error * error + ROUND);
        far += weight * size;
        const slope = (weight * (error / size) * DECIBELS * gain * sound) / (made * made);
        pull[n] = slope;
        louder += slope * (sums[n] as number);
      }
    }
    // A part that becomes louder makes all others quieter, since the sum is fixed.
    let higher = 0;
    for (let band = 0, n = 0; band < powers.length; band++) {
      const passes = passed[band] as number;
      let cutMore = 0;
      for (let k = 0; k < count; k++, n++) {
        const slope = (pull[n] as number) - (louder * (weights[k] as number)) / total;
        cutMore += slope * (sums[n] as number);
        pull[n] = slope * passes;
      }
      if (cut !== null) higher += cutMore * sideSlope('high', midbandHz(FIRST_BAND + band) / cut);
    }
    const cost = terms.reduce((sum, term) => sum + term.cost, 0);
    const gradients = terms.map(({ gradient }) => gradient(pull));
    return { value: far + cost, gradient: joined([...gradients, cut === null ? [] : [higher]]) };
  }

  /** The values: logarithms of the levels, of decay and attack, and of the cutoff. */
  layerPart({ colour, side, curve, levels, decay, attack, cutoffHz }: BankedLayer): ModelPart {
    const { bank, windows } = this;
    const { bands } = bank;
    const free = new Float64Array(bands).fill(FREE);
    const [shortest, longest] = this.decays();
    const ends = (which: 0 | 1): readonly number[] => [
      which === 0 ? shortest : longest,
      ATTACKS[which],
      CUTOFFS[which],
    ];
    return {
      start: joined([levels.map(Math.log), [decay, attack, cutoffHz].map(Math.log)]),
      low: joined([free.map((one) => -one), ends(0).map(Math.log)]),
      high: joined([free, ends(1).map(Math.log)]),
      at: (values) => {
        const [fall, rise, cutoff] = [0, 1, 2].map((k) =>
          Math.exp(values[bands + k] as number),
        ) as [number, number, number];
        const made = bank.powers(values.slice(0, bands).map(Math.exp), colour, side, cutoff);
        const { own, byDecay, byAttack } = bandSlopes(
          shapeEnergy({ attack: rise, decay: fall, curve }),
          windows,
        );
        const jumps = Float64Array.from(
          { length: bands - 1 },
          (_, b) => (values[b + 1] as number) - (values[b] as number),
        );
        return {
          powers: this.spread(own, (band) => made.byBand[band] as number),
          cost: jumps.reduce((sum, jump) => sum + JUMP * jump * jump, 0),
          gradient: (pull) => {
            const byBand = this.along(pull, own);
            const { levels: levelSlopes, cutoff: cutoffSlope } = made.gradient(byBand);
            const slopes = [byDecay, byAttack].map((slope) => {
              const moved = this.along(pull, slope);
              return made.byBand.reduce((sum, power, b) => sum + power * (moved[b] as number), 0);
            });
            const smooth = levelSlopes.map(
              (slope, b) => slope + 2 * JUMP * ((jumps[b - 1] ?? 0) - (jumps[b] ?? 0)),
            );
            return joined([smooth, slopes, [cutoffSlope]]);
          },
        };
      },
    };
  }

  /** The values: logarithms of its amplitude and decay. */
  tonePart(tone: Partial): ModelPart {
    const spread = this.spreadOf(tone);
    const [shortest, longest] = this.decays();
    const { windows } = this;
    return {
      start: Float64Array.of(Math.log(tone.amplitude), Math.log(tone.decay)),
      low: Float64Array.of(-FREE, Math.log(shortest)),
      high: Float64Array.of(FREE, Math.log(longest)),
      at: (values) => {
        const power = Math.exp(2 * (values[0] as number));
        const decay = Math.exp(values[1] as number);
        const { own, byDecay } = bandSlopes(ringEnergy(decay), windows);
        const powersOf = (course: BandCourse): Float64Array => {
          const all = this.spread(course, () => power);
          for (let n = 0; n < all.length; n++) all[n] = (all[n] as number) * (spread[n] as number);
          return all;
        };
        const powers = powersOf(own);
        const longer = powersOf(byDecay);
        return {
          powers,
          cost: 0,
          gradient: (pull) => {
            let louder = 0;
            let slower = 0;
            for (let n = 0; n < pull.length; n++) {
              louder += (pull[n] as number) * (powers[n] as number);
              slower += (pull[n] as number) * (longer[n] as number);
            }
            return Float64Array.of(2 * louder, slower);
          },
        };
      },
    };
  }

  /**
   * How long after its stroke a voice reaches its onset, s: noise that swells is some way up before one of its samples
   * is within 20 dB of its peak.
   */
  leadOf({ layers, tones }: LayeredParts): number {
    const parts = [
      ...layers.map((layer) => {
        const { colour, side, cutoffHz, levels } = layer;
        const { byBand } = this.bank.powers(levels, colour, side, cutoffHz);
        const power = byBand.reduce((sum, one) => sum + one, 0);
        return (time: number): number => power * shapeLevel(layer, time) ** 2;
      }),
      ...tones.map(
        ({ amplitude, decay }) =>
          (time: number): number =>
            amplitude ** 2 * 10 ** ((-6 * time) / decay),
      ),
    ];
    const course = Array.from({ length: LEADS.most / LEADS.step }, (_, k) =>
      parts.reduce((sum, part) => sum + part(k * LEADS.step), 0),
    );
    const begun = LEADS.share ** 2 * largest(course);
    return LEADS.step * course.findIndex((power) => power >= begun);
  }

  /** The level with which each band of a bank alone would have its power. */
  levelsFor(powers: Float64Array, { colour, side, cutoffHz }: Omit<BankedLayer, 'levels'>) {
    return powers.map(
      (power, band) => Math.sqrt(power) * this.bank.levelAt(band, colour, side, cutoffHz),
    );
  }

  /** Powers of a tone over its course. */
  tonePowers(tone: Partial): Float64Array {
    const { start, at } = this.tonePart(tone);
    return at(start).powers;
  }

  private decays(): readonly [number, number] {
    const { least, most, times } = DECAYS;
    return [least, Math.min(most, times * this.heard.seconds)];
  }

  /** Powers over a course, band after band. */
  private spread(course: BandCourse, power: (band: number) => number): Float64Array {
    const { powers, weights } = this.heard;
    const count = weights.length;
    const all = new Float64Array(powers.length * count);
    for (let band = 0; band < powers.length; band++) {
      const own = course[filterOf(band)] as Float64Array;
      const level = power(band);
      for (let k = 0; k < count; k++) all[band * count + k] = level * (own[k] as number);
    }
    return all;
  }

  /** For each band, the sum of a pull over a course. */
  private along(pull: Float64Array, course: BandCourse): Float64Array {
    const { powers, weights } = this.heard;
    const count = weights.length;
    const sums = new Float64Array(powers.length);
    for (let band = 0, n = 0; band < sums.length; band++) {
      const own = course[filterOf(band)] as Float64Array;
      let sum = 0;
      for (let k = 0; k < count; k++, n++) sum += (pull[n] as number) * (own[k] as number);
      sums[band] = sum;
    }
    return sums;
  }

  /**
   * The power of a ring of amplitude 1 in each band and stretch, over its course: its stroke reaches far in
   * frequency.
   */
  private spreadOf(tone: Partial): Float64Array {
    const known = this.spreads.get(tone.hz);
    if (known !== undefined && Math.abs(Math.log(tone.decay / known.decay)) < ALIKE)
      return known.spread;
    const { scope, seconds, parts, windows } = this.heard;
    const { sampleRate } = scope;
    const samples = Float64Array.from({ length: Math.ceil(seconds * sampleRate) }, (_, n) => {
      const time = n / sampleRate;
      return 10 ** ((-3 * time) / tone.decay) * Math.sin(2 * Math.PI * tone.hz * time);
    });
    const frames = Math.round(seconds / FRAME_SECONDS);
    const { bands } = scope.framesOf(
      { samples, sampleRate, onset: 0, end: samples.length, hasEnded: true },
      frames,
    );
    const course = bandCourse(ringEnergy(tone.decay), windows);
    const spread = joined(
      bands.map((powers, band) => {
        const own = course[filterOf(band)] as Float64Array;
        return pooled(powers, parts).map((power, k) => power / Math.max(1e-30, own[k] as number));
      }),
    );
    this.spreads.set(tone.hz, { decay: tone.decay, spread });
    return spread;
  }
}

/** The power that a high-pass leaves in the middle of a band. */
function passedBy(cutHz: number, band: number): number {
  return sidePower('high', midbandHz(FIRST_BAND + band) / cutHz);
}

function valuesOf(parts: readonly ModelPart[], place: Float64Array): readonly Float64Array[] {
  let at = 0;
  return parts.map(({ start }) => {
    const own = place.subarray(at, at + start.length);
    at += start.length;
    return own;
  });
}

function joined(lists: readonly ArrayLike<number>[]): Float64Array {
  const all = new Float64Array(lists.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const list of lists) {
    all.set(list, at);
    at += list.length;
  }
  return all;
}
