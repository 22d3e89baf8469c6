// The distance of two hits: against a separate bank of filters, published limits of filters, and closed forms.

import { describe, expect, it } from 'vitest';
import { BandBank } from '../../../src/measure/likeness/band-bank.ts';
import { LikenessError, likenessOf } from '../../../src/measure/likeness/likeness.ts';
import type { Sound } from '../../../src/measure/likeness/mono.ts';
import { bandEdges, midbandHz } from '../../../src/measure/spectrum/bands.ts';
import { hitDistance as byFilters } from '../../bench/hit-distance.mjs';
import { close } from '../../close.ts';
import { uniform } from '../../compare/fit-recordings.ts';

const RATE = 16_000;

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

describe('the distance of two hits', () => {
  it.each([8000, RATE])(
    'is what another bank of filters of the standard gives, at %d Hz',
    (rate) => {
      // Neither dies away, so that both computations are over the same frames.
      const [reference, other] = [
        hit(noise(3, 0.15, rate), 0.4, rate),
        hit(noise(4, 0.4, rate), 0.4, rate),
      ];
      const { bandsDb, hit: own, reference: theirs } = likenessOf(other, reference);
      const [a, b] = [
        [reference, theirs.time],
        [other, own.time],
      ].map(([sound, time]) =>
        (sound as Sound).channels[0]?.subarray(Math.round((time as number) * rate)),
      ) as [Float64Array, Float64Array];
      close(bandsDb, byFilters(a, b, rate), {
        abs: 0.03,
        unit: 'dB',
        why: 'the same sums from the same samples, but for the low rate of bands under 500 Hz and a hiss that is not counted',
      });
    },
  );

  it('is the mean of its bands, and of its frames as long as the hit is heard, whatever silence follows', () => {
    const of = (seconds: number) => {
      const rate = 8000;
      const wave = noise(21, 0.03, rate);
      const ended = (n: number) => (n < 0.4 * rate ? wave(n) : 0);
      return likenessOf(hit(noise(22, 0.05, rate), 0.6, rate), hit(ended, seconds, rate));
    };
    const rounding = { abs: 1e-9, unit: 'dB', why: 'sums of doubles' } as const;
    const [short, long] = [of(0.5), of(2)];
    for (const { bandsDb, byBand, byTime } of [short, long]) {
      const sum = (all: readonly { readonly db: number }[]) =>
        all.reduce((total, { db }) => total + db, 0);
      close(sum(byBand) / byBand.length, bandsDb, rounding);
      // The sum over all bands and frames is the same, whichever is summed first.
      const heard = sum(byTime) / bandsDb;
      close(heard, Math.round(heard), rounding);
      expect(heard).toBeLessThan(45);
    }
    const ringing = {
      abs: 1e-5,
      unit: 'dB',
      why: 'filters ring on into the silence, under the floor',
    };
    close(long.bandsDb, short.bandsDb, ringing);
    for (const [band, { db }] of long.byBand.entries())
      close(db, short.byBand[band]?.db as number, ringing);
  });

  it('knows a hit at the first sample as the same hit after silence', () => {
    for (const wave of [
      noise(13, 0.05),
      tone(200, 0.1),
      (n: number) => (n < 3 ? 0.5 : tone(3000, 0.01)(n)),
    ]) {
      const [whole, lead] = [hit(wave), 0.1 * RATE];
      const [samples] = whole.channels as [Float64Array];
      const { db, hit: found } = likenessOf({ ...whole, channels: [samples.slice(lead)] }, whole);
      // Nothing before the first sample is silence.
      expect(found.time).toBeLessThan(0.0005);
      close(db, 0, { abs: 0.3, unit: 'dB', why: 'an onset of noise is found to some samples' });
    }
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

describe('the filter of a third octave', () => {
  // IEC 61260-1:2014, class 1 (from memory): the least that is taken away at these ratios to the midband, dB.
  const LIMITS = [
    [1.29437, 17.5],
    [1.88173, 42],
    [3.05365, 61],
    [5.39195, 70],
  ] as const;

  /** What a filter takes away from a sine that has been there for long, dB. */
  function taken(x: number, hz: number, rate: number): number {
    const seconds = 1 + 12 / midbandHz(x);
    const sine = Float64Array.from({ length: Math.round(2 * seconds * rate) }, (_, n) =>
      Math.sin((2 * Math.PI * hz * n) / rate),
    );
    const [[, last] = []] = new BandBank([x], rate).powers(sine, 2, seconds * rate);
    return -10 * Math.log10(2 * (last as number));
  }

  it.each([
    [-13, 5000],
    [-4, 5300],
    [0, 48_000],
    [8, 44_100],
  ])('%d at %d Hz is one of class 1', (x, rate) => {
    const [middle, [low, high]] = [midbandHz(x), bandEdges(x)];
    close(taken(x, middle, rate), 0, { abs: 0.02, unit: 'dB', why: 'the middle of its flat top' });
    for (const edge of [low, high])
      close(taken(x, edge, rate), 10 * Math.log10(2), {
        abs: 0.01,
        unit: 'dB',
        why: 'edges are half powers, by the design',
      });
    for (const [ratio, least] of LIMITS)
      for (const hz of [middle / ratio, middle * ratio].filter((one) => one < rate / 2))
        expect(taken(x, hz, rate)).toBeGreaterThan(least);
  });
});
