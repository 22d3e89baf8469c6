// That a tempo which is claimed is right, over random lines of the kinds that leave it open: few hits, ratchets, triplets
// and grace strokes, straight and swung, at 40 to 220 bpm. The truth is the grid on which the strokes are put.

import seedrandom from 'seedrandom';
import { describe, expect, it } from 'vitest';
import { estimateTempo, type Tempo } from '../../../src/measure/hits/tempo.ts';
import { runs } from '../../runs.ts';

/** A claim: by `measure`, whose reliability of 0.9 promises it, and by `tab`, which tells no doubt from 0.5 on. */
const SURE = 0.9;
const TOLD = 0.5;
/** The promise of a reliability of 0.9, and that of a half: see DEVELOPERS.md on doubt. */
const MOST_WRONG = 0.05;
/** Steps are known to a fraction of a millisecond: half a percent is under a third of a step in a bar's length. */
const NEAR = 0.005;

interface Line {
  readonly signs: string;
  readonly bpm: number;
  readonly swing: number;
  readonly strokes: readonly { readonly time: number; readonly power: number }[];
}

/** Signs of struck steps: digits are even strokes in a step, f and d one and two grace strokes. */
const KINDS = [
  { density: 0.25, others: 0.4, signs: '2234', stepsPerQuarter: 4 },
  { density: 0.5, others: 0.4, signs: '2234', stepsPerQuarter: 4 },
  { density: 0.35, others: 0.3, signs: '234f', stepsPerQuarter: 4 },
  { density: 0.4, others: 0.35, signs: 'ffd', stepsPerQuarter: 4 },
  { density: 0.5, others: 0, signs: 'x', stepsPerQuarter: 3 },
  { density: 0.45, others: 0, signs: 'x', stepsPerQuarter: 4 },
] as const;
const SWINGS = [0.54, 0.56, 0.58, 0.6, 0.62, 2 / 3];

function lineOf(seed: number): Line {
  const next = seedrandom.alea(`line ${seed}`);
  const pick = <T>(some: ArrayLike<T>): T => some[Math.floor(next() * some.length)] as T;
  const { density, others, signs, stepsPerQuarter } = pick(KINDS);
  const bpm = 40 + 180 * next();
  const swing = stepsPerQuarter === 4 && next() < 0.4 ? pick(SWINGS) : 0.5;
  const steps = 4 * stepsPerQuarter;
  const line = Array.from({ length: steps }, (_, step) => {
    const often = density * (step % stepsPerQuarter === 0 ? 1.8 : 0.8);
    if (step > 0 && next() > often) return '-';
    return next() < others ? pick(signs) : 'x';
  });
  const step = 60 / bpm / stepsPerQuarter;
  const at = (n: number): number => 0.3 + step * (n + (n % 2 === 1 ? 2 * swing - 1 : 0));
  const bars = pick([1, 2, 4]);
  const strokes = Array.from({ length: bars * steps }, (_, n) => {
    const sign = line[n % steps] as string;
    if (sign === '-') return [];
    const graces = { f: [0.022], d: [0.05, 0.025] }[sign] ?? [];
    const count = Number(sign) || 1;
    return [
      ...graces.map((early) => ({ time: at(n) - early, power: 0.22 })),
      ...Array.from({ length: count }, (_, k) => ({
        time: at(n) + ((at(n + 1) - at(n)) * k) / count,
        power: 1,
      })),
    ];
  })
    .flat()
    // Found to within a millisecond, and as loud to within half a decibel.
    .map(({ time, power }) => ({
      time: time + 0.0006 * (next() + next() + next() - 1.5),
      power: power * 10 ** (0.1 * (next() - 0.5)),
    }))
    .sort((a, b) => a.time - b.time);
  return { signs: line.join(''), bpm, swing, strokes };
}

const tempoOf = ({ strokes }: Pick<Line, 'strokes'>): Tempo | null =>
  estimateTempo(
    strokes.map(({ time }) => time),
    strokes.map(({ power }) => power),
  );

/** Onsets do not tell a tempo from its half or double. */
function isRight(found: number, bpm: number): boolean {
  const octaves = Math.log2(found / bpm);
  return Math.abs(2 ** (octaves - Math.round(octaves)) - 1) <= NEAR;
}

describe('a tempo', () => {
  const { numRuns } = runs(250);
  const first = numRuns > 250 ? Math.floor(Math.random() * 1e9) : 1;
  const all = Array.from({ length: numRuns }, (_, k) => lineOf(first + k)).map((line) => ({
    line,
    tempo: tempoOf(line),
  }));

  it.each([
    // How many must be claimed at least: doubt about everything would be no help.
    ['as sure', SURE, 0.3],
    ['without doubt', TOLD, 0.5],
  ])('that is given %s is right for 95 in 100 random lines', (_, least, fewest) => {
    const claimed = all.flatMap(({ line, tempo }) =>
      tempo !== null && tempo.reliability >= least ? [{ line, tempo }] : [],
    );
    const wrong = claimed.filter(({ line, tempo }) => !isRight(tempo.bpm, line.bpm));
    const words = wrong.map(
      ({ line: { signs, bpm, swing }, tempo }) => `${signs} ${bpm} ${swing}: ${tempo.bpm}`,
    );
    expect(claimed.length).toBeGreaterThan(fewest * numRuns);
    expect(wrong.length, words.join('\n')).toBeLessThanOrEqual(MOST_WRONG * claimed.length);
  });

  it('of a sparse line with ratchets is its own, or another with the right one beside it', () => {
    const step = (bpm: number): number => 15 / bpm;
    for (let bpm = 40; bpm <= 220; bpm += 4) {
      const strokes = [0, 1, 2, 3].flatMap((bar) =>
        [0, 4, 4.5, 8, 12, 12.25, 12.5, 12.75].map((at) => ({
          time: 0.3 + step(bpm) * (16 * bar + at),
          power: 1,
        })),
      );
      const tempo = tempoOf({ strokes });
      const told = tempo === null ? [] : [tempo.bpm, ...tempo.otherBpm];
      expect(
        told.some((one) => isRight(one, bpm)),
        `${bpm}: ${told}`,
      ).toBe(true);
      const isClaimed = (tempo?.reliability ?? 0) >= TOLD;
      expect(isClaimed && !isRight(tempo?.bpm ?? 0, bpm), `${bpm}: ${told}`).toBe(false);
    }
  });

  it('of bars of triplets is told with that of the triplets', () => {
    // Three bars that repeat, and bars that do not, whose hits are on every third step oftener than on every second.
    const bars = ['x-xxx-x-xxxx', 'xxxx-xx--xx-', 'x--xxxx--x--'].map((bar) => bar.repeat(3));
    for (const signs of [...bars, 'x--x-xx---x-x--x-xx-xxxxx--x-xx---x-x--x-x--x---']) {
      const strokes = [...signs].flatMap((sign, n) =>
        sign === 'x' ? [{ time: 0.3 + (n * 60) / 96 / 3, power: 1 }] : [],
      );
      const tempo = tempoOf({ strokes });
      expect(tempo?.reliability).toBeLessThan(TOLD);
      expect([tempo?.bpm, ...(tempo?.otherBpm ?? [])].some((one) => isRight(one ?? 0, 96))).toBe(
        true,
      );
    }
  });
});
