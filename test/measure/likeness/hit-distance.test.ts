// The distance of two hits: against a separate slow computation, from published bands, and closed forms.

import { describe, expect, it } from 'vitest';
import { LikenessError, likenessOf } from '../../../src/measure/likeness/likeness.ts';
import type { Sound } from '../../../src/measure/likeness/mono.ts';
import { hitDistance as byFilters } from '../../bench/hit-distance.mjs';
import { close } from '../../close.ts';
import { uniform } from '../../compare/fit-recordings.ts';

const RATE = 16_000;
/** Hz: the slow sums take as long as its square. */
const SLOW = 8000;

/** A hit after 100 ms of silence. */
function hit(wave: (n: number) => number, seconds = 0.4, sampleRate = RATE): Sound {
  const lead = 0.1 * sampleRate;
  const samples = new Float64Array(Math.round(lead + seconds * sampleRate));
  for (let n = 0; n < seconds * sampleRate; n++) samples[lead + n] = wave(n);
  return { sampleRate, channels: [samples] };
}

function noise(seed: number, tau: number, sampleRate = RATE): (n: number) => number {
  const next = uniform(seed);
  return (n) => 0.4 * next() * Math.exp(-n / sampleRate / tau);
}

const tone =
  (hz: number, tau: number, sampleRate = RATE) =>
  (n: number): number =>
    0.4 * Math.cos((2 * Math.PI * hz * n) / sampleRate) * Math.exp(-n / sampleRate / tau);

/**
 * The bands' part of the distance by sums that are written out: a sum of products for each bin, no fast
 * transform. Band edges: IEC 61260-1:2014, 1000 x 10^(x/10 -+ 1/20) Hz (from memory).
 */
function slowBands(...sides: readonly (readonly [Sound, number])[]): number {
  const powers = sides.map(slowPowers);
  const count = powers[0]?.length ?? 0;
  // Both have died away, so that silence follows.
  const frames = 50;
  const cell = (side: number, band: number, k: number): number => powers[side]?.[band]?.[k] ?? 0;
  const totals = [0, 1].map((side) => {
    let sum = 0;
    for (let b = 0; b < count; b++) for (let k = 0; k < frames; k++) sum += cell(side, b, k);
    return sum;
  });
  const gain = (totals[0] as number) / (totals[1] as number);
  let peak = 0;
  for (let b = 0; b < count; b++)
    for (let k = 0; k < frames; k++) peak = Math.max(peak, cell(0, b, k));
  const floor = peak / 1e6;
  let sum = 0;
  let heard = 0;
  for (let b = 0; b < count; b++)
    for (let k = 0; k < frames; k++) {
      if (cell(0, b, k) > floor) heard = Math.max(heard, k + 1);
      sum += Math.abs(
        10 * Math.log10(Math.max(floor, cell(0, b, k)) / Math.max(floor, gain * cell(1, b, k))),
      );
    }
  return sum / (count * heard);
}

function slowPowers([{ sampleRate, channels }, onset]: readonly [Sound, number]): number[][] {
  const samples = (channels[0] as Float64Array).subarray(Math.round(onset * sampleRate));
  const bands: number[][] = [];
  for (let x = -13; x <= 12; x++) {
    const [low, high] = [1000 * 10 ** (x / 10 - 0.05), 1000 * 10 ** (x / 10 + 0.05)];
    if (high > sampleRate / 2) break;
    const length = (x < -3 ? 0.08 : 0.02) * sampleRate;
    const size = 2 ** Math.ceil(Math.log2(length));
    const hz = sampleRate / size;
    bands.push(
      Array.from({ length: Math.floor(samples.length / (0.01 * sampleRate)) }, (_, frame) => {
        const start = Math.round((frame + 0.5) * 0.01 * sampleRate) - length / 2;
        let power = 0;
        for (let k = Math.floor(low / hz); k <= Math.ceil(high / hz); k++) {
          const inside = Math.min(high, (k + 0.5) * hz) - Math.max(low, (k - 0.5) * hz);
          if (inside <= 0) continue;
          let [re, im] = [0, 0];
          for (let n = 0; n < length; n++) {
            const value = (samples[start + n] ?? 0) * Math.sin((Math.PI * (n + 0.5)) / length) ** 2;
            re += value * Math.cos((2 * Math.PI * k * n) / size);
            im += value * Math.sin((2 * Math.PI * k * n) / size);
          }
          power += ((inside / hz) * (2 * (re * re + im * im))) / size / (0.375 * length);
        }
        return power;
      }),
    );
  }
  return bands;
}

describe('the distance of two hits', () => {
  it('is what the definition gives, computed slowly', () => {
    const [reference, other] = [
      hit(noise(1, 0.05, SLOW), 0.4, SLOW),
      hit(noise(2, 0.08, SLOW), 0.4, SLOW),
    ];
    const { bandsDb, hit: own, reference: theirs } = likenessOf(other, reference);
    // Onsets of noise are found to some samples: the sums start where they were.
    for (const { time } of [own, theirs]) expect(Math.abs(time - 0.1)).toBeLessThan(0.001);
    close(bandsDb, slowBands([reference, theirs.time], [other, own.time]), {
      abs: 1e-3,
      unit: 'dB',
      why: 'the same sums; the offset that is taken away first is 1e-4 of them',
    });
  });

  it('agrees with a bank of filters of the standard, an analysis of another kind', () => {
    // Neither dies away, so that both computations are over the same frames.
    const [reference, other] = [hit(noise(3, 0.15)), hit(noise(4, 0.4))];
    const [a, b] = [reference, other].map(({ channels }) =>
      (channels[0] as Float64Array).subarray(0.1 * RATE),
    ) as [Float64Array, Float64Array];
    close(likenessOf(other, reference).bandsDb, byFilters(a, b, RATE), {
      rel: 0.1,
      unit: 'dB',
      why: 'chance in 10 ms of a narrow band is smoothed by a window of 80 ms, and by a filter of as much',
    });
  });

  it('counts nothing after the end of a sound that is cut off, and what follows one that has died away', () => {
    // 8.7 dB down after 0.15 s, and 52 dB.
    const [long, short] = [tone(400, 0.15), tone(400, 0.025)];
    const onsetOf = ({ channels }: Sound) => (channels[0] as Float64Array).subarray(0.1 * RATE);
    const far = (sound: Sound, reference: Sound): readonly number[] => [
      likenessOf(sound, reference).bandsDb,
      byFilters(onsetOf(reference), onsetOf(sound), RATE),
    ];
    for (const db of far(hit(long), hit(long, 0.15)))
      close(db, 0, {
        abs: 0.3,
        unit: 'dB',
        why: 'the same samples until it is cut off, of onsets that are the same to a sample',
      });
    // From there on a tail of 35 dB is added in one band, under the floor of the others: 10 of 25 frames.
    const tail = (n: number): number => short(n) + (n > 0.15 * RATE ? 0.007 * tone(400, 9)(n) : 0);
    const [plain, rung] = [hit(short), hit(tail)].map((sound) => far(sound, hit(short, 0.15)));
    for (const [k, db] of (rung ?? []).entries())
      expect(db).toBeGreaterThan((plain?.[k] ?? 0) + 0.3);
  });

  it('is nothing between a sound and itself, at any level, on any offset, upside down, in stereo', () => {
    const wave = noise(5, 0.05);
    const plain = hit(wave);
    const samples = plain.channels[0] as Float64Array;
    const spoilt: readonly Sound[] = [
      { ...plain, channels: [samples.map((value) => -0.1 * value)] },
      { ...plain, channels: [samples, samples.map((value) => -value)] },
      { ...plain, channels: [samples.map((value) => value + 0.1)] },
    ];
    for (const one of [plain, ...spoilt])
      close(likenessOf(one, plain).db, 0, {
        abs: 0.05,
        unit: 'dB',
        why: 'an offset leaves its own trace of -60 dB; all else is the same to a rounding',
      });
  });

  it('is the mean of a straight line between two decays of one sine', () => {
    // exp(-t/tau) falls by 20/ln 10/tau = 8.686/tau dB a second.
    const [fast, slow] = [hit(tone(1000, 0.04), 0.1), hit(tone(1000, 0.05), 0.1)];
    const { differences, byBand } = likenessOf(slow, fast);
    const row = differences[13] as readonly number[];
    expect(byBand[13]?.nominalHz).toBe(1000);
    // Frames 1 and 7 lie inside the sine.
    const slope = ((row[7] as number) - (row[1] as number)) / 0.06;
    close(slope, -2 * 4.342944819 * (1 / 0.04 - 1 / 0.05), {
      rel: 0.02,
      unit: 'dB/s',
      why: 'a tone that decays leaks into no other time than the window has',
    });
  });

  it('counts a semitone as 0.2 dB between tones, and nothing between noises', () => {
    const far = likenessOf(hit(tone(2000, 0.1)), hit(tone(2000 * 2 ** (3 / 12), 0.1)));
    close(far.pitchDb, 0.6, {
      abs: 0.02,
      unit: 'dB',
      why: 'a partial is found within a tenth of a semitone',
    });
    const other = likenessOf(hit(noise(6, 0.1)), hit(noise(7, 0.1)));
    close(other.pitchDb, 0, { abs: 1e-9, unit: 'dB', why: 'noise has a flatness over -5 dB' });
  });

  it('tells a cluster of tones from noise in the same bands, where the bands hardly do', () => {
    // Three tones to a third octave, from 2 kHz on, against noise; both decay alike.
    const partials = Array.from({ length: 15 }, (_, k) => 1800 * 2 ** (k / 9 + 0.03 * (k % 3)));
    const bell = hit((n) => partials.reduce((sum, hz) => sum + 0.1 * tone(hz, 0.1)(n), 0));
    const alike = likenessOf(hit(noise(8, 0.1)), hit(noise(9, 0.1)));
    const apart = likenessOf(hit(noise(8, 0.1)), bell);
    expect(alike.tonalityDb).toBeLessThan(0.1);
    expect(apart.tonalityDb).toBeGreaterThan(0.5);
  });

  it('compares as far as the lower of two sample rates goes', () => {
    const low = hit(noise(10, 0.05, 8000), 0.4, 8000);
    expect(likenessOf(hit(noise(10, 0.05)), low).byBand.at(-1)?.nominalHz).toBe(3150);
  });

  it('takes the hit that has most time to itself, and says which', () => {
    const samples = new Float64Array(RATE);
    const next = uniform(11);
    for (const [at, to] of [
      [1600, 3200],
      [3200, 12_000],
    ] as const)
      for (let n = at; n < to; n++) samples[n] = 0.5 * next() * Math.exp(-(n - at) / 400);
    const two: Sound = { sampleRate: RATE, channels: [samples] };
    const { hit: taken } = likenessOf(two, two);
    expect(taken).toMatchObject({ index: 1, of: 2 });
    close(taken.time, 0.2, {
      abs: 0.001,
      unit: 's',
      why: 'an onset of noise is found to a millisecond',
    });
  });

  it('refuses silence, and says of which of the two', () => {
    const silent: Sound = { sampleRate: RATE, channels: [new Float64Array(RATE)] };
    const sound = hit(noise(12, 0.05));
    const which = (run: () => unknown): unknown => {
      try {
        return run();
      } catch (error) {
        return error instanceof LikenessError ? error.which : error;
      }
    };
    expect(which(() => likenessOf(silent, sound))).toBe('sound');
    expect(which(() => likenessOf(sound, silent))).toBe('reference');
  });
});
