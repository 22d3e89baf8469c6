// The delay line against the closed forms of a delay, a comb and a loop, and against a slow row of
// cells: what is heard is found by bisection on the clock, and between samples by a long windowed sinc.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { render } from '../../src/engine/render.ts';
import { delayLine } from '../../src/modules/delay-line.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { readPatch } from '../../src/patch/read.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack, type Volts } from './harness.ts';
import { component } from './spectrum.ts';

const RATE = 48_000;
const C2 = 440 * 2 ** (-33 / 12);

function heard(
  settings: Readonly<Record<string, unknown>>,
  samples: number,
  volts: Readonly<Record<string, Volts>>,
  sampleRate = RATE,
): Float64Array {
  const bench = new Bench(delayLine, { settings, sampleRate });
  return jack(bench.run(samples, volts), 'out');
}

/** A pluck that swings about 0 V: one sample up, one down, so nothing steady goes round. */
const pluck = (n: number): number => (n === 0 ? 5 : n === 1 ? -5 : 0);
const click = (n: number): number => (n === 0 ? 5 : 0);

/**
 * Frequency of the line near `guess`, by how far its phase moves between two windows.
 * @param from first sample of the first window.
 */
function pitchOf(sound: Float64Array, guess: number, from: number, rate = RATE): number {
  const length = Math.round((24 * rate) / guess);
  const hop = Math.round((8 * rate) / guess);
  const phase = (at: number) => component(sound.subarray(at, at + length), rate, guess).phase;
  const moved = phase(from + hop) - phase(from) - (guess * hop) / rate;
  return guess + ((moved - Math.round(moved)) * rate) / hop;
}

const cents = (hertz: number, wanted: number): number => 1200 * Math.log2(hertz / wanted);

describe('once through', () => {
  it('gives a whole number of samples back as they were', () => {
    const out = heard({ time: 100 / RATE }, 400, { in: (n) => 3 * Math.sin(n * n) });
    // 1e-12 V: the time in s and back to samples is rounded, 1e-14 of 100 samples of 12 V a sample.
    out.forEach((volts, n) => {
      const wanted = n < 100 ? 0 : 3 * Math.sin((n - 100) ** 2);
      close(volts, wanted, { abs: 1e-12, unit: 'V', why: 'rounding of the time' });
    });
  });

  it('delays a sine by its time at any part of a sample, and never makes it louder', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 4000, max: 90_000 }),
        fc.integer({ min: 25, max: 450 }),
        (milliSamples, milliCycles) => {
          const delay = milliSamples / 1000;
          const frequency = milliCycles / 1000; // cycles a sample
          const out = heard({ time: delay / RATE }, 1024, {
            in: (n) => Math.sin(2 * Math.PI * frequency * n),
          });
          const part = out.subarray(512);
          const { amplitude, phase } = component(part, 1, frequency);
          // 1e-9: what the window lets through of the sine's own mirror image.
          expect(amplitude).toBeLessThanOrEqual(1 + 1e-9);
          if (milliCycles > 250) return;
          // In the header: within 0.2 dB to a quarter of the rate.
          close(20 * Math.log10(amplitude), 0, { abs: 0.2, unit: 'dB', why: 'what is promised' });
          const off = phase - frequency * (512 - delay);
          close((off - Math.round(off)) / frequency, 0, {
            abs: 0.02,
            unit: 'samples',
            why: 'the polynomial bends the phase a little there',
          });
        },
      ),
      runs(60),
    );
  });

  it('mixes in the input: notches where the time is half a period', () => {
    const settings = { time: 48 / RATE, mix: 0.5 };
    for (const [hertz, gain] of [
      [500, 0],
      [1000, 1],
      [1500, 0],
      [1250, Math.SQRT1_2],
    ] as const) {
      const out = heard(settings, 1448, { in: (n) => Math.sin((2 * Math.PI * hertz * n) / RATE) });
      const { amplitude } = component(out.subarray(488), RATE, hertz);
      // |1 + exp(-j w T)|/2 = |cos(pi f T)|.
      close(amplitude, gain, { abs: 1e-6, unit: '', why: 'leakage of the window' });
    }
  });

  it('takes what comes back a sample earlier, and adds it to what comes in', () => {
    const out = heard({ time: 20 / RATE }, 60, {
      in: (n) => (n === 10 ? 2 : 0),
      return: (n) => (n === 11 ? 1 : n === 30 ? 3 : 0),
    });
    const rounded = [...out].map((volts) => Math.round(volts * 1e9) / 1e9);
    // 2 V of sample 10, and 1 V of sample 11 which left a sample before; 3 V likewise.
    expect(rounded.flatMap((volts, n) => (volts === 0 ? [] : [[n, volts]]))).toEqual([
      [30, 3],
      [49, 3],
    ]);
  });

  it('stays within its limits: 4 samples, and four times the time set', () => {
    const least = heard({ time: 0.0001 }, 20, { in: click, pitch: 5 });
    expect([...least.subarray(0, 6)].map((v) => Math.round(v * 1e9) / 1e9)).toEqual([
      0, 0, 0, 0, 5, 0,
    ]);
    const most = heard({ time: 0.001 }, 400, { in: click, pitch: -5 });
    expect(most.indexOf(most.reduce((a, b) => (b > a ? b : a), 0))).toBe(4 * 48);
  });
});

describe('a loop', () => {
  // 0.1 cents, a fiftieth of what is heard: what the windows leave of a decaying line and its neighbours.
  const tuned = { abs: 0.1, unit: 'cents', why: 'a decaying line in windows of 24 periods' };

  it.each([
    [0, 22_000, 0.99],
    [0, 22_000, 1],
    [1, 5000, 0.995],
    [1.75, 3000, 0.998],
    [-0.5, 8000, 0.99],
    [3, 2500, 1],
    [3.58, 12_000, 1],
  ])('sounds the note of %d V, damping %d Hz, feedback %d', (pitch, damping, feedback) => {
    for (const rate of [44_100, 48_000]) {
      const settings = { damping, feedback };
      const sound = heard(settings, rate, { in: pluck, pitch }, rate);
      const wanted = C2 * 2 ** pitch;
      close(cents(pitchOf(sound, wanted, 4000, rate), wanted), 0, tuned);
    }
  });

  it('is tuned by interval, and by volts at control', () => {
    const up = heard({ tune: 7, feedback: 0.99 }, RATE, { in: pluck });
    const fifth = C2 * 2 ** (7 / 12);
    close(cents(pitchOf(up, fifth, 4000), fifth), 0, tuned);
    const longer = heard({ feedback: 0.99, 'control-amount': 0.5 }, RATE, {
      in: pluck,
      control: 2,
    });
    close(cents(pitchOf(longer, C2 / 1.2, 4000), C2 / 1.2), 0, tuned);
  });

  it('turned upside down sounds an octave lower, its odd partials alone', () => {
    const sound = heard({ time: 1 / 200, feedback: -0.99 }, RATE, { in: pluck });
    close(cents(pitchOf(sound, 100, 4000), 100), 0, tuned);
    const part = sound.subarray(4000, 4000 + 24_000);
    const [first = 0, second = 0, third = 0] = [100, 200, 300].map(
      (hertz) => component(part, RATE, hertz).amplitude,
    );
    expect(second / first).toBeLessThan(1e-3);
    expect(third / first).toBeGreaterThan(0.5);
  });

  it('dies away as it says: each partial by feedback times the low-pass, a round', () => {
    const [damping, feedback, pitch] = [2000, 0.97, 1];
    const sound = heard({ damping, feedback }, RATE, { in: pluck, pitch });
    const f0 = C2 * 2 ** pitch;
    for (const partial of [1, 3, 8]) {
      const hertz = partial * f0;
      // The low-pass is trapezoidal: its frequencies are bent as the filter's are.
      const bent = Math.tan((Math.PI * hertz) / RATE) / Math.tan((Math.PI * damping) / RATE);
      const perRound = feedback / Math.sqrt(1 + bent ** 2);
      const length = Math.round((16 * RATE) / f0);
      const [before, after] = [2000, 2000 + length].map(
        (at) => component(sound.subarray(at, at + length), RATE, hertz).amplitude,
      ) as [number, number];
      const got = (20 * Math.log10(after / before)) / 16;
      // Higher partials are a little sharp, which moves them in the window.
      close(got, 20 * Math.log10(perRound), { rel: 0.02, unit: 'dB', why: 'sharp partials' });
    }
  });

  it('through other modules is as long as one inside', () => {
    const text = `
modules:
  hit:   { kind: rhythm, tempo: 60 bpm, channels: [hit], gate: 0.2 ms, patterns: { one: { hit: "x---------------" } }, song: [one] }
  ac:    { kind: filter, cutoff: 400 Hz, q: 0.5 }
  string: { kind: delay-line, tune: 36 st, mix: 100 % }
  split: { kind: multiple }
  keep:  { kind: attenuator, level: 99.98 % }
  out:   { kind: output }
cables:
  - hit.hit      -> ac.in
  - ac.band      -> string.in
  - string.out   -> keep.in
  - keep.out     -> split.in
  - split.out-1  -> string.return
  - split.out-2  -> out.left
`;
    const { patch } = readPatch(text, { file: 'loop.yaml', kinds: KINDS });
    if (patch === undefined) throw new Error('the patch has faults');
    const [left] = render(patch, { length: { unit: 'seconds', value: 1 } }).channels;
    const wanted = C2 * 8;
    close(cents(pitchOf(left as Float64Array, wanted, 600), wanted), 0, {
      abs: 0.3,
      unit: 'cents',
      why: 'a loop that loses 3 % a round is gone after some 40 periods',
    });
  });

  it('never leaves the supply rails, whatever moves it', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1000 }),
        fc.constantFrom(-1, -0.9, 0.9, 1),
        fc.constantFrom(300, 22_000),
        (seed, feedback, damping) => {
          let state = seed;
          const random = (): number => {
            state = (state * 16_807) % 2_147_483_647;
            return state / 2_147_483_647 - 0.5;
          };
          const out = heard({ time: 0.003, feedback, damping }, 20_000, {
            in: () => 10 * random(),
            return: () => 4 * random(),
            pitch: () => 4 * random(),
            control: () => 12 * random(),
          });
          expect(out.every((volts) => Math.abs(volts) <= 12)).toBe(true);
        },
      ),
      runs(10),
    );
  });
});

describe('volts that move the time', () => {
  /** A row of cells as slow code: no ring, no memory of the last sample. */
  function slowly(delayAt: (n: number) => number, input: (n: number) => number, samples: number) {
    const passages = [0];
    for (let n = 1; n < samples; n++) passages.push((passages[n - 1] as number) + 1 / delayAt(n));
    // Before the start the clock stood as at the start.
    const clock = (t: number): number => {
      if (t <= 0) return t / delayAt(0);
      const whole = Math.min(Math.floor(t), samples - 2);
      const [before, after] = [passages[whole] as number, passages[whole + 1] as number];
      return before + (t - whole) * (after - before);
    };
    return (n: number): number => {
      let [low, high] = [n - 2000, n];
      for (let k = 0; k < 60; k++) {
        const middle = (low + high) / 2;
        if (clock(middle) <= clock(n) - 1) low = middle;
        else high = middle;
      }
      let sum = 0;
      for (let k = Math.floor(low) - 31; k <= Math.floor(low) + 32; k++) {
        const x = k - low;
        const sinc = x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
        sum += input(k) * sinc * Math.cos((Math.PI * x) / 66) ** 2;
      }
      return sum;
    };
  }

  const tone = (n: number): number => (n < 0 ? 0 : 3 * Math.sin(0.19 * n) * Math.min(n / 200, 1));

  it.each([
    ['a jump up', (n: number) => (n < 3000 ? 0 : 1)],
    ['a jump down', (n: number) => (n < 3000 ? 0 : -1)],
    ['two jumps within a passage', (n: number) => (n < 3000 ? 0 : n < 3100 ? 0.8 : -0.4)],
    ['a wobble', (n: number) => 0.3 * Math.sin(n / 150)],
  ])('%s: the cells come out faster or slower, without a gap', (_, pitch) => {
    const base = 0.01 * RATE;
    const out = heard({ time: 0.01 }, 6000, { in: tone, pitch });
    const slow = slowly((n) => base * 2 ** -pitch(n), tone, 6000);
    let worst = 0;
    for (let n = 100; n < 5900; n += 7) {
      const off = Math.abs((out[n] as number) - slow(n));
      if (off > worst) worst = off;
    }
    // At 0.03 of the rate, twice that when an octave up, the polynomial is 1e-6 off, and the sinc 1e-4.
    close(worst, 0, { abs: 1e-3, unit: 'V', why: 'the windowed sinc of 64 taps, on 3 V' });
  });

  it('give a loop its new pitch at once, without a click', () => {
    const pitch = (n: number): number => (n < 12_000 ? 1 : 1.5);
    const sound = heard({ feedback: 1, damping: 3000 }, 30_000, { in: pluck, pitch });
    const wanted = C2 * 2 ** 1.5;
    close(cents(pitchOf(sound, wanted, 12_100), wanted), 0, {
      abs: 0.3,
      unit: 'cents',
      why: 'the low-pass is made up for a round later',
    });
    const step = (n: number): number => Math.abs((sound[n] as number) - (sound[n - 1] as number));
    let before = 0;
    for (let n = 11_000; n < 11_990; n++) before = Math.max(before, step(n));
    let after = 0;
    for (let n = 11_990; n < 12_400; n++) after = Math.max(after, step(n));
    // Half an octave up all slopes are 2^0.5 as steep; a click would be the wave's own height.
    expect(after).toBeLessThan(before * 2 ** 0.5 * 1.05);
  });
});
