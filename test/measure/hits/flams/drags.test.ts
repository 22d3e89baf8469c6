// Grace strokes that only other strokes of the same drum tell: against drags and ruffs put together at known times, in
// takes that have strokes by themselves, and against takes that have nothing else. Drums as in `recorded-drums.test.ts`;
// no two strokes are the same noise.

import { describe, expect, it } from 'vitest';
import { EventMeter } from '../../../../src/measure/hits/events.ts';
import type { Hit } from '../../../../src/measure/hits/hits.ts';
import { close } from '../../../close.ts';
import { runs } from '../../../runs.ts';
import { gaussian, type HitSpec, hits } from '../../synthesis.ts';

const RATE = 24_000;
type Sound = readonly Omit<HitSpec, 'at'>[];
const DRUMS: Record<string, Sound> = {
  kick: [
    { tau: 0.05, amplitude: 0.4, hz: 50, fall: { octaves: 2, tau: 0.02 } },
    { tau: 0.003, amplitude: 0.2 },
  ],
  snare: [
    { tau: 0.022, amplitude: 0.2 },
    { tau: 0.03, amplitude: 0.1, hz: 190 },
  ],
  hat: [{ tau: 0.012, amplitude: 0.2 }],
  // What rings longer than its grace strokes are apart hides them.
  'open hat': [{ tau: 0.06, amplitude: 0.2 }],
  'snare with its wires loose': [
    { tau: 0.045, amplitude: 0.2 },
    { tau: 0.06, amplitude: 0.1, hz: 190 },
  ],
  tom: [
    { tau: 0.09, amplitude: 0.4, hz: 110 },
    { tau: 0.004, amplitude: 0.1 },
  ],
};

interface Stroke {
  readonly at: number;
  /** How long before it its grace strokes come, s, the earliest first. */
  readonly graces: readonly number[];
}

/** Strokes half a second apart, those with grace strokes among those without. @param counts of grace strokes. */
function takeOf(sound: Sound, counts: readonly number[], seed: string) {
  const random = gaussian(seed);
  const between = (low: number, high: number) => low + (high - low) * Math.abs(random() % 1);
  const strokes = counts.map((count, n): Stroke => {
    const apart = between(0.016, 0.032);
    const graces = Array.from({ length: count }, (_, k) => (count - k) * apart + 0.0004 * random());
    return { at: 0.3 + 0.5 * n + between(0, 0.05), graces };
  });
  const specs = strokes.flatMap(({ at, graces }) => {
    const loud = 10 ** (-between(0, 3) / 20);
    const softer = 10 ** (-between(5, 9) / 20);
    return [0, ...graces].flatMap((early) =>
      sound.map((part) => ({
        ...part,
        at: at - early,
        until: 8 * part.tau,
        amplitude: part.amplitude * loud * (early === 0 ? 1 : softer * 10 ** (random() / 20)),
      })),
    );
  });
  return { strokes, samples: hits(0.8 + 0.5 * counts.length, RATE, specs, 0.0001) };
}

function heardIn(samples: Float64Array): readonly Hit[] {
  const meter = new EventMeter(RATE, 1, { tempo: false, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  return meter.finish().hits;
}

/** s: a stroke is placed by its hop of a millisecond, and by how uneven a hand is. */
const PLACED = 0.003;

/** Every stroke that hits tell, each once. */
function strokesOf(found: readonly Hit[]): readonly number[] {
  const times = found.map(({ time }) => time);
  for (const { flam, drag } of found) {
    const main = drag ?? flam;
    if (main === null) continue;
    for (const seconds of [0, ...(drag?.graces ?? [flam]).map((grace) => grace?.seconds ?? 0)])
      if (times.every((time) => Math.abs(time - main.time + seconds) > 0.004))
        times.push(main.time - seconds);
  }
  return times.sort((a, b) => a - b);
}

function nearest(times: readonly number[], time: number): number {
  return times.reduce((a, b) => (Math.abs(b - time) < Math.abs(a - time) ? b : a));
}

const COUNTS = [0, 2, 0, 0, 3, 0, 1, 0, 0, 2, 0, 3, 0, 1];

describe('grace strokes of a drum whose other strokes stand alone', () => {
  it('are all told: flams, drags and ruffs, of every drum', () => {
    let [all, right] = [0, 0];
    const claims = { all: 0, right: 0 };
    for (const [name, sound] of Object.entries(DRUMS))
      for (let seed = 0; seed < runs(2).numRuns; seed++) {
        const { strokes, samples } = takeOf(sound, COUNTS, `${name} ${seed}`);
        const found = heardIn(samples);
        const times = strokesOf(found);
        for (const { at, graces } of strokes) {
          const wanted = [...graces, 0].map((early) => at - early);
          const here = times.filter((time) => Math.abs(time - at) < 0.15);
          const isRight =
            here.length === wanted.length &&
            wanted.every((time, k) => Math.abs(time - (here[k] as number)) < PLACED);
          if (graces.length > 0) {
            all += 1;
            right += isRight ? 1 : 0;
          } else expect(here.length, `${name} ${seed}: one stroke at ${at}`).toBe(1);
        }
        const played = strokes.flatMap(({ at, graces }) =>
          [...graces, 0].map((early) => at - early),
        );
        for (const { flam, drag } of found) {
          const told = drag ?? (flam && { ...flam, graces: [flam] });
          if (told === null || told.reliability < 0.9) continue;
          const times = [...told.graces.map(({ seconds }) => told.time - seconds), told.time];
          for (let k = 1; k < times.length; k++) {
            const [before, after] = [times[k - 1] as number, times[k] as number];
            const truth = nearest(played, after) - nearest(played, before);
            claims.all += 1;
            claims.right += Math.abs(after - before - truth) <= 0.05 * truth ? 1 : 0;
          }
        }
      }
    // What an aim of recall is here elsewhere (`sequences.test.ts`).
    expect(right / all).toBeGreaterThanOrEqual(0.95);
    // What a reliability of 0.9 promises.
    expect(claims.all).toBeGreaterThan(10);
    expect(claims.right / claims.all).toBeGreaterThanOrEqual(0.95);
  });

  it('are told of none in takes that have only single strokes, soft and loud', () => {
    for (const [name, sound] of Object.entries(DRUMS)) {
      const { samples } = takeOf(sound, new Array(12).fill(0), `single ${name}`);
      const found = heardIn(samples);
      expect(found.length, name).toBe(12);
      for (const { flam, drag, ratchet } of found)
        expect([flam, drag, ratchet], name).toEqual([null, null, null]);
    }
  });

  it('are not told of two drums struck nearly together, of which each is known by itself', () => {
    const { kick = [], hat = [] } = DRUMS;
    const random = gaussian('together');
    const specs = Array.from({ length: 18 }, (_, n) => n).flatMap((n) => {
      const at = 0.3 + 0.5 * n;
      const late = 0.015 + 0.001 * random();
      const first = n % 3 === 1 ? [] : kick.map((part) => ({ ...part, at, until: 8 * part.tau }));
      const second = hat.map((part) => ({ ...part, at: at + late, until: 8 * part.tau }));
      return n % 3 === 0 ? first : [...first, ...second];
    });
    const found = heardIn(hits(9.8, RATE, specs, 0.0001));
    for (const { drag, ratchet } of found) expect([drag, ratchet]).toEqual([null, null]);
  });

  it('say when the main stroke comes, how long before it the others do and how much softer', () => {
    const at = [0.3, 0.8, 1.3, 1.8, 2.3];
    const specs = at.flatMap((time, n) =>
      (n === 3 ? [0.044, 0.022, 0] : [0]).flatMap((early) =>
        (DRUMS['open hat'] as Sound).map((part) => ({
          ...part,
          at: time - early,
          until: 8 * part.tau,
          amplitude: part.amplitude * (early === 0 ? 1 : 10 ** (-6 / 20)),
        })),
      ),
    );
    const told = heardIn(hits(3, RATE, specs, 0.0001)).flatMap(({ drag }) => drag ?? []);
    expect(told.length).toBe(1);
    const [{ time, graces }] = told as [NonNullable<Hit['drag']>];
    close(time, 1.8, { abs: PLACED, unit: 's', why: 'where a grace is to be placed' });
    const early = [0.044, 0.022];
    expect(graces.length).toBe(2);
    graces.forEach(({ seconds }, k) => {
      close(seconds, early[k] as number, {
        abs: PLACED,
        unit: 's',
        why: 'where a grace is to be placed',
      });
    });
    for (const { softerDb } of graces)
      close(softerDb, 6, {
        abs: 3,
        unit: 'dB',
        why: 'noise that falls in 22 ms wavers by some 2 dB from one stroke to the next',
      });
  });

  it('are equal strokes, where they are as loud as the last: two to four of them, evenly apart', () => {
    // s apart; two nearer ones are a flam.
    const ratchets = [
      [2, 0.047],
      [2, 0.068],
      [3, 0.031],
      [3, 0.045],
      [4, 0.023],
      [4, 0.034],
    ] as const;
    let right = 0;
    for (const sound of Object.values(DRUMS)) {
      const random = gaussian(`equal ${sound.length}`);
      const at = (n: number) => 0.3 + 0.5 * n;
      const specs = Array.from({ length: 2 * ratchets.length }, (_, n) => n).flatMap((n) => {
        const [count, apart] =
          n % 2 === 0 ? [1, 0] : (ratchets[n >> 1] as readonly [number, number]);
        return Array.from({ length: count }, (_, k) => k).flatMap((k) =>
          sound.map((part) => ({
            ...part,
            at: at(n) + k * apart,
            until: 8 * part.tau,
            amplitude: part.amplitude * 10 ** (random() / 40),
          })),
        );
      });
      const found = heardIn(hits(0.8 + ratchets.length, RATE, specs, 0.0001));
      const times = found.flatMap(({ time, ratchet }) => [
        time,
        ...Array.from({ length: (ratchet?.strokes ?? 1) - 1 }, (_, k) => {
          const { time: first, seconds } = ratchet as NonNullable<Hit['ratchet']>;
          return first + (k + 1) * seconds;
        }),
      ]);
      for (const [n, [count, apart]] of ratchets.entries())
        right += Array.from({ length: count }, (_, k) => at(2 * n + 1) + k * apart).every(
          (time) => Math.abs(nearest(times, time) - time) < PLACED,
        )
          ? 1
          : 0;
    }
    const all = ratchets.length * Object.keys(DRUMS).length;
    expect(right / all).toBeGreaterThanOrEqual(0.95);
  });
});
