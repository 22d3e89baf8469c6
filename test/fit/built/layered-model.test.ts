// The model of a voice without a render: envelopes over time against their closed form, banks against the
// statements of their kind, slopes against differences, and parts that are known.

import { describe, expect, it } from 'vitest';
import { BankResponse, type FilterSide } from '../../../src/fit/built/bank-response.ts';
import {
  bandCourse,
  filterOf,
  ringEnergy,
  shapeEnergy,
  windowsOf,
} from '../../../src/fit/built/course.ts';
import { firstLayers } from '../../../src/fit/built/first-layers.ts';
import type { HeardPowers } from '../../../src/fit/built/heard-powers.ts';
import { type BankedLayer, LayeredModel } from '../../../src/fit/built/layered-model.ts';
import type { Colour } from '../../../src/measure/dials/noise-colour.ts';
import { BandBank } from '../../../src/measure/likeness/band-bank.ts';
import { BandScope, FIRST_BAND } from '../../../src/measure/likeness/band-frames.ts';
import { hitOnset } from '../../../src/measure/likeness/hit-onset.ts';
import { bandEdges } from '../../../src/measure/spectrum/bands.ts';
import { largest } from '../../../src/modules/dsp/extremes.ts';
import { close } from '../../close.ts';
import { uniform } from '../../compare/fit-recordings.ts';

const STEADY = { attack: 0, decay: 1e9, curve: 'exponential' } as const;
const decibels = (power: number): number => 10 * Math.log10(power);

describe('the course of an envelope', () => {
  const frames = 40;
  const windows = windowsOf(
    Array.from({ length: frames }, (_, k) => [0.01 * k, 0.01 * (k + 1)] as const),
  );
  const course = bandCourse(shapeEnergy({ attack: 0, decay: 0.5, curve: 'exponential' }), windows);

  it('falls as its decay says', () => {
    // Five time constants a decay: in 0.1 s the power of one of 0.5 s falls by 2 nepers. The widest band's
    // filter has rung out by then.
    const [early, late] = [20, 30].map((k) => course[filterOf(25)]?.[k] as number);
    close(decibels((late as number) / (early as number)), -20 * Math.LOG10E, {
      abs: 5e-7,
      unit: 'dB',
      why: 'a closed form on both sides',
    });
  });

  it('of a ring falls by 60 dB in its decay', () => {
    const high = bandCourse(ringEnergy(0.15), windows)[filterOf(25)] as Float64Array;
    close(decibels((high[25] as number) / (high[10] as number)), -60, {
      abs: 5e-7,
      unit: 'dB',
      why: 'a closed form on both sides',
    });
  });

  it('of a straight line is over when that is', () => {
    const high = bandCourse(shapeEnergy({ attack: 0, decay: 0.1, curve: 'linear' }), windows)[
      filterOf(25)
    ] as Float64Array;
    // Half way down, over a frame in which the square bends little; after its end and the filter's nothing.
    close(high[5], 0.2, { abs: 0.05, unit: '', why: 'over a frame the square bends little' });
    expect(high[11]).toBe(0);
  });

  it('counts nothing before the onset, and all of it in the end', () => {
    for (const [filter, powers] of bandCourse(shapeEnergy(STEADY), windows).entries()) {
      // Within its first frame a wide band is there, the narrowest not yet.
      expect(powers[0] as number).toBeLessThan(filter === 0 ? 0.05 : 1);
      close(powers[39], 1, { abs: 0.0005, unit: '', why: 'its filter has rung in' });
    }
  });

  it.each([-12, -9, -6, -3, 3])('through band %d is that of noise through its filter', (x) => {
    const [rate, strokes] = [8000, 400];
    const band = new BandBank([x], rate);
    const next = uniform(88172645 + x);
    const sums = new Float64Array(frames);
    for (let stroke = 0; stroke < strokes; stroke++) {
      const burst = Float64Array.from(
        { length: 0.4 * rate },
        (_, n) => next() * Math.exp((-5 * n) / rate / 0.5),
      );
      band.powers(burst, frames, 0.01 * rate)[0]?.forEach((power, k) => {
        sums[k] = (sums[k] as number) + power;
      });
    }
    const own = course[filterOf(x - FIRST_BAND)] as Float64Array;
    const whole = (row: Float64Array): number => row.reduce((sum, one) => sum + one, 0);
    const apart = own.reduce(
      (sum, power, k) => sum + Math.abs(power / whole(own) - (sums[k] as number) / whole(sums)),
      0,
    );
    // Each mean of 400 strokes strays by 5 %, and a course has five pieces.
    expect(apart).toBeLessThan(0.12);
  });
});

describe('what a bank leaves of noise', () => {
  const bands = 26;
  const bank = new BankResponse(bands);

  it('with all levels alike is 2.2 to 5.5 dB up from 60 Hz to 13 kHz, as its kind says', () => {
    const { byBand } = bank.powers(new Float64Array(bands).fill(1), 'white', null, 1000);
    for (let band = 1; band < 25; band++) {
      const [low, high] = bandEdges(FIRST_BAND + band);
      const up = decibels((byBand[band] as number) / (high - low));
      expect(up).toBeGreaterThan(2.2);
      expect(up).toBeLessThan(5.5);
    }
  });

  it.each([
    ['white', null, 0],
    ['pink', null, -3],
    ['red', null, -6],
    ['white', 'low', -12],
    ['white', 'high', 0],
  ] as const)('of %s through %s goes by %d dB an octave', (colour, side, slope) => {
    const { byBand } = bank.powers(new Float64Array(bands).fill(1), colour, side, 400);
    // From 2 to 4 kHz, far from the cutoff; a band an octave up is twice as wide.
    const fall = decibels((byBand[19] as number) / (byBand[16] as number)) - decibels(2);
    close(fall, slope, {
      abs: 0.2,
      unit: 'dB',
      why: "a third octave of the base of ten is 0.997 of an octave: under 0.1 dB, and the bank's own ripple is alike",
    });
  });

  it('has the power that a level of one band was asked for', () => {
    const level = bank.levelAt(10, 'pink', 'high', 300);
    const levels = new Float64Array(bands);
    levels[10] = level;
    close(bank.powers(levels, 'pink', 'high', 300).byBand[10], 1, {
      abs: 5e-10,
      unit: '',
      why: 'rounding',
    });
  });
});

/** Powers of 8 bands around the seam, over a fifth of a second. */
function heardOf(
  powers: (band: number, time: number) => number,
  scope = new BandScope(8000),
): HeardPowers {
  const parts = Array.from({ length: 20 }, (_, k) => [k, k + 1] as const);
  const own = Array.from({ length: scope.count }, (_, band) =>
    Float64Array.from(parts, (_part, k) => powers(band, (k + 0.5) / 100)),
  );
  return {
    scope,
    powers: own,
    floors: own.map(() => 1e-9),
    energy: own.reduce((sum, row) => row.reduce((all, one) => all + one, sum), 0),
    weights: new Float64Array(20).fill(1),
    parts,
    windows: windowsOf(parts.map(([from, to]) => [from / 100, to / 100] as const)),
    seconds: 0.2,
  };
}

const layer = (colour: Colour, side: FilterSide, more: Partial<BankedLayer> = {}): BankedLayer => ({
  ...{ colour, side, attack: 0.004, decay: 0.2, curve: 'exponential', cutoffHz: 700 },
  levels: new Float64Array(new BandScope(8000).count).map((_, band) => 1e-3 * (1 + band)),
  ...more,
});
const TONE = { hz: 440, amplitude: 0.1, decay: 0.3, reliability: 1 };

describe('the slope of how far a voice is', () => {
  const next = uniform(2463534242);
  const heard = heardOf(() => 1e-6 * (1.1 + next()));
  const model = new LayeredModel(heard);

  it.each([
    ['a layer', [model.layerPart(layer('white', null))]],
    ['a filtered one', [model.layerPart(layer('red', 'low'))]],
    [
      'a straight one',
      [model.layerPart(layer('pink', 'high', { curve: 'linear', attack: 0.0213 }))],
    ],
    ['a tone', [model.tonePart(TONE)]],
    ['all together', [model.layerPart(layer('white', 'high')), model.tonePart(TONE)]],
    ['all behind a high-pass', [model.layerPart(layer('red', null)), model.tonePart(TONE)], 300],
  ])('along each value of %s is that of small steps', (_, parts, cutHz = 0) => {
    const cut = cutHz > 0 ? [Math.log(cutHz)] : [];
    const place = Float64Array.from([...parts.flatMap(({ start }) => [...start]), ...cut]);
    const { gradient } = model.slopeAt(parts, place);
    const most = gradient.reduce((top, one) => Math.max(top, Math.abs(one)), 0);
    for (const [k, slope] of gradient.entries()) {
      const at = (by: number): number =>
        model.slopeAt(parts, place.with(k, (place[k] as number) + by)).value;
      const step = (at(1e-4) - at(-1e-4)) / 2e-4;
      close(step, slope, {
        abs: 1e-6 * most,
        unit: 'dB',
        why: 'closed forms against steps of 0.01 % both ways',
      });
    }
  });
});

describe('the time from a stroke to its onset', () => {
  const model = new LayeredModel(heardOf(() => 1));
  const RATE = 48_000;

  // Noise under the envelope of src/modules/envelope.ts (charging towards 1.5 of its peak), whose onset is found in its samples.
  it.each([0.005, 0.02, 0.04, 0.1])(
    'is found without a render, of noise that swells for %d s',
    (attack) => {
      const next = uniform(2463534242);
      const found = Array.from({ length: 20 }, () => {
        const samples = Float64Array.from({ length: 0.5 * RATE }, (_, n) => {
          const time = n / RATE;
          const level =
            time < attack
              ? 1.5 * (1 - Math.exp((-Math.log(3) * time) / attack))
              : Math.exp((-5 * (time - attack)) / 0.2);
          // The sum of four is as good as normal.
          return level * (next() + next() + next() + next());
        });
        return hitOnset(samples, { from: 0, to: samples.length, sampleRate: RATE }) / RATE;
      });
      const mean = found.reduce((sum, one) => sum + one, 0) / found.length;
      const lead = model.leadOf({
        layers: [layer('white', null, { attack })],
        tones: [],
        cutHz: null,
      });
      close(lead, mean, {
        abs: Math.max(0.0005, 0.3 * mean),
        unit: 's',
        why: 'chance moves an onset by a fifth of it',
      });
    },
  );

  it('is none where a ring begins with it', () => {
    const layers = [layer('white', null, { attack: 0.04 })];
    expect(model.leadOf({ layers, tones: [{ ...TONE, amplitude: 1 }], cutHz: null })).toBe(0);
  });
});

describe('a voice brought near', () => {
  it('has nothing left where it is of the same make', () => {
    const model = new LayeredModel(heardOf(() => 1));
    const layers = [layer('white', null), layer('red', null, { decay: 0.05 })];
    const parts = [...layers.map((one) => model.layerPart(one)), model.tonePart(TONE)];
    const made = parts.map(({ at, start }) => at(start).powers);
    const heard = heardOf((band, time) => {
      const n = band * 20 + Math.round(100 * time - 0.5);
      return made.reduce((sum, powers) => sum + (powers[n] as number), 1e-9);
    });
    const away = layers.map((one) => ({
      ...one,
      levels: one.levels.map((level, band) => level * (band % 2 === 0 ? 1.5 : 0.7)),
      decay: 1.4 * one.decay,
    }));
    const { db, layers: found } = new LayeredModel(heard).nearest({
      layers: away,
      tones: [{ ...TONE, amplitude: 0.2 }],
      cutHz: null,
    });
    // 0.5 dB is the round bottom of each difference; what is left is nothing to hear.
    expect(db).toBeLessThan(0.5 + 0.15);
    // It began from decays that were 1.4 times as long.
    for (const [index, { decay }] of found.entries())
      close(Math.log(decay / (layers[index]?.decay as number)), 0, {
        abs: 0.1,
        unit: 'nepers',
        why: 'it began from decays that were 1.4 times as long',
      });
  });

  it('is as far from silence as nothing is, however far under the floor', () => {
    const model = new LayeredModel(heardOf(() => 1));
    const part = model.layerPart(layer('white', null, { decay: 0.05 }));
    const made = part.at(part.start).powers;
    const whole = heardOf((band, time) => made[band * 20 + Math.round(100 * time - 0.5)] as number);
    const floor = 1e-3 * largest(whole.powers.map((row) => largest(row)));
    const heard = {
      ...whole,
      floors: whole.floors.map(() => floor),
      powers: whole.powers.map((row) => row.map((one) => Math.max(floor, one))),
    };
    const { value } = new LayeredModel(heard).slopeAt([part], part.start);
    // The round bottom, the jumps of the bank, and 1.5 dB for what is as loud as the floor: two frames of twenty.
    expect(value).toBeLessThan(0.5 + 0.2);
  });

  it('finds the high-pass that all of it went through', () => {
    const model = new LayeredModel(heardOf(() => 1));
    const layers = [layer('white', null)];
    const [made] = layers.map((one) => model.layerPart(one)).map(({ at, start }) => at(start));
    // A flat one of the second order: u^4/(1 + u^4), as src/modules/filter.ts has it.
    const heard = heardOf((band, time) => {
      const u = (1000 * 10 ** ((FIRST_BAND + band) / 10)) / 400;
      const power = made?.powers[band * 20 + Math.round(100 * time - 0.5)] as number;
      return (power * u ** 4) / (1 + u ** 4);
    });
    const near = (cutHz: number | null) =>
      new LayeredModel(heard).nearest({ layers, tones: [], cutHz });
    const [behind, without] = [near(120), near(null)];
    // The skirts of a bank fall by 6 dB an octave, those of the filter by 12.
    expect(behind.db).toBeLessThan(without.db / 3);
    close(Math.log2((behind.cutHz as number) / 400), 0, {
      abs: 1,
      unit: 'octaves',
      why: "what a bank's levels take away the filter need not",
    });
  });

  it('begins with the two slopes that a noise has', () => {
    // 60 dB in 60 ms above 1 kHz, in 0.6 s below, as filters show them.
    const windows = windowsOf(
      Array.from({ length: 20 }, (_, k) => [k / 100, (k + 1) / 100] as const),
    );
    const [quick, slow] = [0.06, 0.6].map((fall) => bandCourse(ringEnergy(fall), windows));
    const heard = heardOf((band, time) => {
      const course = FIRST_BAND + band > 0 ? quick : slow;
      return 1e-8 + (course?.[filterOf(band)]?.[Math.round(100 * time - 0.5)] as number);
    });
    const [bright, dark] = firstLayers(heard, [], 2);
    // Decays are five time constants, and there is one in each ratio of 1.7.
    const of60 = (decay = 0): number => (decay * Math.log(1000)) / 5;
    close(Math.log(of60(bright?.decay) / 0.06), 0, {
      abs: Math.log(1.7),
      unit: 'nepers',
      why: 'there is a layer in each ratio of 1.7',
    });
    close(Math.log(of60(dark?.decay) / 0.6), 0, {
      abs: Math.log(1.7),
      unit: 'nepers',
      why: 'there is a layer in each ratio of 1.7',
    });
  });
});
