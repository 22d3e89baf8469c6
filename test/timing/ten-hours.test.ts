// Ten hours of pulses and of steps, against exact arithmetic: nothing drifts.

import { describe, expect, it } from 'vitest';
import { edges } from '../../src/timing/edges.ts';
import { Following } from '../../src/timing/following.ts';
import { close } from '../close.ts';
import { pattern, settings } from './build.ts';
import { Fraction, startOf } from './slow.ts';

const STEPS = 16;
const EVERY_STEP = pattern(['x'.repeat(STEPS)]);

describe('a rhythm that follows pulses', () => {
  it('has not drifted by a sample after ten hours', () => {
    // A pulse each 0.1237 s: no whole number of samples.
    const rate = 48_000;
    const period = 0.1237;
    const count = Math.floor((10 * 3600) / period);
    const of = settings([pattern(['x--'], { stepsPerQuarter: 7 })], {
      swing: 2 / 3,
      follows: { count: 7, per: 'quarter' },
    });
    const following = new Following(of, { sampleRate: rate, seed: 'any', module: 'drums' });
    let stroke = 0;
    let last = 0;
    for (let i = 0; i < count; i++) {
      const sample = Math.round(i * period * rate);
      while (following.next < sample) following.take(following.next);
      following.pulse(sample);
      for (const { output, volts, sample: at } of following.take(sample))
        if (output === 0 && volts > 0) {
          stroke += 1;
          last = at;
        }
    }
    // The pattern of three steps begins each third pulse.
    expect(stroke).toBe(Math.ceil(count / 3));
    close(last, 3 * (stroke - 1) * period * rate, {
      abs: 1,
      unit: 'samples',
      why: 'a pulse comes at a whole sample',
    });
  });

  it.each([44_100, 96_000])(
    'swings by what its pulses give at %d Hz, each stroke of ten hours',
    (rate) => {
      // A pulse a step at 109.3 bpm, 0.137 s: the off-steps come 0.16 of the period before after theirs.
      const period = (60 / 109.3 / 4) * rate;
      const at = (pulse: number): number => Math.round(pulse * period);
      const of = settings([EVERY_STEP], { swing: 0.58, follows: { count: 1, per: 'step' } });
      const following = new Following(of, { sampleRate: rate, seed: 'any', module: 'drums' });
      let [stroke, worst] = [0, 0];
      const take = (sample: number): void => {
        for (const { output, volts, sample: got } of following.take(sample)) {
          if (output !== 0 || volts === 0) continue;
          const late = stroke % 2 === 0 ? 0 : 0.16 * (at(stroke) - at(stroke - 1));
          worst = Math.max(worst, Math.abs(got - at(stroke) - late));
          stroke += 1;
        }
      };
      const count = Math.floor((10 * 3600 * rate) / period);
      for (let i = 0; i < count; i++) {
        while (following.next < at(i)) take(following.next);
        following.pulse(at(i));
        if (following.next <= at(i)) take(at(i));
      }
      expect(stroke).toBeGreaterThanOrEqual(count - 1);
      close(worst, 0, { abs: 0.5001, unit: 'samples', why: 'a stroke comes at a whole sample' });
    },
  );
});

describe('times', () => {
  it('are exact to the sample after ten hours at 192 kHz', () => {
    const [tempo, swing] = ['92.1', '0.583'];
    const song = settings([EVERY_STEP], { tempo: Number(tempo), swing: Number(swing) });
    const seconds = 36_000;
    const next = edges(song, { sampleRate: 192_000, seed: '', module: '', until: seconds });
    let k = 0;
    let compared = 0;
    for (let edge = next(); edge !== undefined; edge = next()) {
      if (edge.output !== 0 || edge.volts === 0) continue;
      if (k % 101 === 0) {
        expect(edge.sample).toBe(startOf(k, tempo, swing).sampleAt(192_000));
        compared++;
      }
      k++;
    }
    expect(k).toBe(Math.ceil((seconds * 92.1 * 4) / 60));
    expect(compared).toBeGreaterThan(2000);
  });

  it('are exact through ten hours of tempo changes', () => {
    const tempos = ['92.1', '133.37', '119.99', '174.3', '101.01', '60.07'];
    const song = settings([EVERY_STEP], {
      song: tempos.map((tempo) => ({ pattern: 0, repeats: 50, tempo: Number(tempo) })),
    });
    const lengths = tempos.map((tempo) => startOf(STEPS, tempo, '0.5'));
    const pass = lengths.reduce((sum, length) => sum.plus(length.times(50)), new Fraction(0n));
    const next = edges(song, { sampleRate: 192_000, seed: '', module: '', until: 36_000 });
    let section = 0;
    let last = 0;
    for (let edge = next(); edge !== undefined; edge = next()) {
      if (edge.output !== 0 || edge.volts === 0 || edge.step !== 1) continue;
      if (section % 17 === 0) {
        const inPass = section % (50 * tempos.length);
        let at = pass.times((section - inPass) / (50 * tempos.length));
        lengths.forEach((length, i) => {
          at = at.plus(length.times(Math.min(Math.max(inPass - 50 * i, 0), 50)));
        });
        expect(edge.sample).toBe(at.sampleAt(192_000));
      }
      section++;
      last = edge.time;
    }
    expect(section).toBeGreaterThan(15_000);
    expect(last).toBeGreaterThan(35_990);
  });
});
