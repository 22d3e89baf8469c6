// The count-in: the clock before the music. Times are sums of 60 / bpm, worked out here by hand.

import { describe, expect, it } from 'vitest';
import { barTimes, secondsOfBars, songSeconds } from '../../src/timing/song.ts';
import { close } from '../close.ts';
import { allEdges, pattern, rises, settings } from './build.ts';

const [CLOCK, RUN, START] = [4, 5, 6];

describe('a count-in', () => {
  // 16 sixteenths at 120 bpm are a bar of 2 s; the song's own 150 bpm make it 1.6 s.
  const groove = pattern(['x---f---x---?---']);
  const two = settings([groove], {
    'count-in': 2,
    song: [{ pattern: 0, repeats: 2, tempo: 150 }],
    clock: { count: 2, per: 'quarter' },
    chance: 1,
  });

  it('comes before the music, at the tempo of its first entry', () => {
    expect(rises(two, 0, { until: 5 }).slice(0, 1)).toEqual([3.2]);
    expect(barTimes(two)(1)).toBe(3.2);
    expect(barTimes(two)(2)).toBe(4.8);
    expect(songSeconds(two)).toBe(6.4);
    expect(secondsOfBars(two, 1)).toBe(4.8);
  });

  it('has the clock and run going from the start, and start at the first step', () => {
    expect(rises(two, RUN, { until: 5 })).toEqual([0]);
    expect(rises(two, START, { until: 5 })).toEqual([3.2]);
    // Two clocks a quarter of 0.4 s, through the count-in and on without a stumble.
    const clocks = rises(two, CLOCK, { until: 6.4 });
    expect(clocks).toHaveLength(32);
    clocks.forEach((time, k) => {
      close(time, k * 0.2, { abs: 5e-13, unit: 's', why: 'rounding' });
    });
  });

  it('plays no channel, not even the grace stroke of a chance', () => {
    const early = allEdges(two, { until: 6.4 }).filter(
      ({ output, time }) => output < 4 && time < 3.2,
    );
    expect(early).toEqual([]);
  });

  it('counts its bars down to bar 0', () => {
    const bars = allEdges(two, { until: 5 })
      .filter(({ output, volts }) => output === CLOCK && volts > 0)
      .map(({ bar }) => bar);
    expect(bars.slice(0, 17)).toEqual([...Array(8).fill(-1), ...Array(8).fill(0), 1]);
    const [run] = allEdges(two, { until: 5 }).filter(({ output }) => output === RUN);
    expect([run?.bar, run?.step]).toEqual([-1, 1]);
  });

  it('changes no chance: the same strokes come, only later', () => {
    const loose = settings([pattern(['????????????????'])], { chance: 0.5 });
    const late = { ...loose, 'count-in': 1 };
    const plain = rises(loose, 0, { until: 8 });
    expect(rises(late, 0, { until: 10 }).map((time) => time - 2)).toEqual(plain);
    expect(plain.length).toBeGreaterThan(10);
  });

  it('of a song without a step is nothing', () => {
    const empty = settings([], { 'count-in': 4 });
    expect(songSeconds(empty)).toBe(0);
    expect(rises(empty, CLOCK, { until: 2 })).toEqual([]);
  });

  it('that is not over when the performance ends gives no start', () => {
    expect(rises(two, START, { until: 3.2 })).toEqual([]);
  });
});

describe('the grace stroke of a flam', () => {
  it('sets the accent output to its own level', () => {
    const soft = settings([pattern(['X---f---x---'])], { 'grace-level': -2 });
    const levels = allEdges(soft, { until: 1.5 })
      .filter(({ output }) => output === 2)
      .map(({ time, volts }) => [Number(time.toFixed(6)), volts]);
    // The flam of step 5, at 0.5 s, has its grace stroke 22 ms before it.
    expect(levels).toEqual([
      [0, 4],
      [0.478, -2],
      [0.5, 0],
    ]);
  });
});
