// The reverberator: its decay by ISO 3382, its density by a published measure, its energy, and the
// network itself against a slow one.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { AnyValues, Site } from '../../src/modules/definition.ts';
import { Random } from '../../src/modules/dsp/random.ts';
import { absorption, lineLengths, reverberator } from '../../src/modules/reverberator.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack } from './harness.ts';
import { valuesOf } from './solo.ts';

const RATE = 48_000;
const MODELS = ['room', 'plate'];

interface Sides {
  readonly left: Float64Array;
  readonly right: Float64Array;
}

/** The wet side's response to one sample of 1 V. */
function response(settings: AnyValues, seconds: number, module = 'hall', rate = RATE): Sides {
  const place = { sampleRate: rate, settings: { mix: 1, ...settings }, module };
  const given = new Bench(reverberator, place).run(Math.round(seconds * rate), {
    in: (n) => (n === 0 ? 1 : 0),
  });
  return { left: jack(given, 'left'), right: jack(given, 'right') };
}

function energy(sound: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < sound.length; n++) sum += (sound[n] as number) ** 2;
  return sum;
}

/** A band of so many octaves about a frequency, by two sections one after the other. */
function band(sound: Float64Array, hertz: number, octaves: number): Float64Array {
  const edge = 2 ** (octaves / 2);
  // A band-pass of second order by the bilinear transform, its two edges where they are asked for.
  const [low, high] = [hertz / edge, hertz * edge].map((f) => Math.tan((Math.PI * f) / RATE)) as [
    number,
    number,
  ];
  const whole = 1 + (high - low) + low * high;
  const b = (high - low) / whole;
  const [a1, a2] = [(2 * (low * high - 1)) / whole, (1 - (high - low) + low * high) / whole];
  const once = (input: Float64Array): Float64Array => {
    const output = new Float64Array(input.length);
    let [x1, x2, y1, y2] = [0, 0, 0, 0];
    for (let n = 0; n < input.length; n++) {
      const x = input[n] as number;
      const y = b * (x - x2) - a1 * y1 - a2 * y2;
      x2 = x1;
      x1 = x;
      y2 = y1;
      y1 = y;
      output[n] = y;
    }
    return output;
  };
  return once(once(sound));
}

/**
 * Reverberation time, s, by T30 of ISO 3382-1:2009, 3.3 and 5.3.3 (from memory): the energy still to
 * come (Schroeder's backward integration), a straight line through it from -5 to -35 dB, and the time
 * that the line takes for 60 dB.
 */
function reverberationTime(sound: Float64Array): number {
  const left = new Float64Array(sound.length);
  let sum = 0;
  for (let n = sound.length - 1; n >= 0; n--) {
    sum += (sound[n] as number) ** 2;
    left[n] = sum;
  }
  let [count, t1, d1, t2, td] = [0, 0, 0, 0, 0];
  // Between these shares of it, which spares most of the logarithms.
  const [most, least] = [sum * 10 ** -0.5, sum * 10 ** -3.5];
  for (let n = 0; n < left.length; n++) {
    const part = left[n] as number;
    if (part > most || part < least) continue;
    const d = 10 * Math.log10(part / sum);
    const t = n / RATE;
    count += 1;
    t1 += t;
    d1 += d;
    t2 += t * t;
    td += t * d;
  }
  return -60 / ((count * td - t1 * d1) / (count * t2 - t1 * t1));
}

const mean = (list: readonly number[]): number => list.reduce((sum, x) => sum + x, 0) / list.length;
const HALLS = ['a', 'b', 'c', 'd', 'e', 'f', 'g', 'h'];

describe.each(MODELS)('a %s', (model) => {
  it.each([
    [0.004, 0.3],
    [0.009, 0.7],
    [0.009, 2.5],
    [0.03, 1.5],
  ])('of size %f s falls by 60 dB in its decay of %f s (ISO 3382-1, T30)', (size, decay) => {
    const times = HALLS.slice(0, decay > 1 ? 4 : 8).map((hall) => {
      const { left } = response({ model, size, decay, damping: 20_000 }, 1.4 * decay, hall);
      // The mean of these two octaves is what the standard gives as one number.
      return mean([500, 1000].map((hertz) => reverberationTime(band(left, hertz, 1))));
    });
    close(mean(times), decay, {
      rel: 0.05,
      unit: 's',
      why: 'the least difference one hears: ISO 3382-1, annex A (from memory)',
    });
  });

  it.each([
    [2000, 1],
    [6000, 1.5],
  ])('falls in half the time at a damping of %i Hz', (damping, decay) => {
    const times = HALLS.map((hall) => {
      const { right } = response({ model, damping, decay }, 0.8 * decay, hall);
      return reverberationTime(band(right, damping, 1 / 12));
    });
    close(mean(times), decay / 2, {
      rel: 0.08,
      unit: 's',
      why: '5 % is heard; eight halls of so narrow a band scatter by 2 % about it',
    });
  });

  it('has the energy of its input, whatever its size and decay', () => {
    const click = new Float64Array(RATE).map((_, n) => (n === 0 ? 1 : 0));
    const given = energy(band(click, 700, 1));
    for (const [size, decay] of [
      [0.004, 0.2],
      [0.009, 0.7],
      [0.02, 2],
    ] as const) {
      const levels = HALLS.flatMap((hall) => {
        const { left, right } = response({ model, size, decay, damping: 20_000 }, decay, hall);
        return [left, right].map((side) => energy(band(side, 700, 1)));
      });
      close(10 * Math.log10(mean(levels) / given), 0, {
        abs: 1.2,
        unit: 'dB',
        why: 'a band of few modes: sixteen responses scatter by about 1 dB',
      });
    }
  });

  it('gives two sides that have nothing in common', () => {
    const alike = HALLS.map((hall) => {
      const { left, right } = response({ model }, 1, hall);
      const product = left.reduce((sum, volts, n) => sum + volts * (right[n] as number), 0);
      return product / Math.sqrt(energy(left) * energy(right));
    });
    for (const share of alike) expect(Math.abs(share)).toBeLessThan(0.25);
    close(mean(alike), 0, { abs: 0.1, unit: '1', why: 'eight of up to 0.25 either way' });
  });

  it('is another for another module, and the same for the same', () => {
    const settings = { model, decay: 0.2 };
    const { left } = response(settings, 0.1, 'one');
    expect(response(settings, 0.1, 'one').left).toEqual(left);
    expect(response(settings, 0.1, 'two').left).not.toEqual(left);
  });

  it('never grows: its energy falls, whatever its settings', () => {
    fc.assert(
      fc.property(
        fc.record({ size: between(0.002, 0.04), damping: between(200, 20_000) }),
        between(0.05, 30),
        fc.integer({ min: 0, max: 1e6 }),
        (settings, decay, name) => {
          const { left, right } = response({ model, ...settings, decay }, 1.2, `${name}`, 8000);
          // Windows of five of the longest ways: within one, the sides may take energy from each other.
          const window = 5 * 0.066 * 8000;
          const parts = [0, 1, 2].map((k) => {
            const [from, to] = [window * k + 600, window * (k + 1) + 600];
            return energy(left.slice(from, to)) + energy(right.slice(from, to));
          });
          const [first = 0, second = 0, third = 0] = parts;
          expect(second).toBeLessThan(first * 1.1);
          expect(third).toBeLessThan(first * 1.1);
          if (decay < 1) expect(third).toBeLessThan(first / 2);
        },
      ),
      runs(25),
    );
  });

  it('keeps to the rails on a full tone of its own, and then dies away to 0 V', () => {
    const settings = { model, decay: 0.05, mix: 1 };
    const bench = new Bench(reverberator, { settings });
    const loud = bench.run(RATE / 2, { in: (n) => 12 * Math.sign(Math.sin(n / 9)) });
    expect(jack(loud, 'left').every((volts) => Math.abs(volts) <= 12)).toBe(true);
    const after = jack(bench.run(RATE, { in: 0 }), 'right');
    expect(after.at(-1)).toBe(0);
    expect(after.some((v) => v !== 0 && Math.abs(v) < 2.3e-308)).toBe(false);
  });

  it('lets no steady volts through its wet side', () => {
    const bench = new Bench(reverberator, { settings: { model, mix: 0.4, decay: 0.2 } });
    const out = bench.run(RATE, { in: 5 });
    close(jack(out, 'left').at(-1) as number, 0.6 * 5, {
      abs: 1e-9,
      unit: 'V',
      why: 'a high-pass of 10 Hz has had a second: exp(-63)',
    });
  });
});

describe('how dense it is', () => {
  /**
   * Share of samples further out than one standard deviation, over that of Gaussian noise, in 20 ms
   * about a time: 1 where so many echoes overlap that it is noise. Abel & Huang, "A simple, robust
   * measure of reverberation echo density", 121st AES Convention (2006) 6985 (from memory).
   */
  function density(sound: Float64Array, seconds: number): number {
    const half = Math.round(0.01 * RATE);
    const middle = Math.round(seconds * RATE);
    const window = sound.slice(middle - half, middle + half);
    const deviation = Math.sqrt(energy(window) / window.length);
    // 0.3173 is erfc(1/sqrt 2).
    return window.filter((volts) => Math.abs(volts) > deviation).length / window.length / 0.3173;
  }
  const at = (model: string, seconds: number): number =>
    mean(HALLS.map((hall) => density(response({ model }, 0.2, hall).left, seconds)));

  it('is thin at first in a room and noise after 60 ms, with the usual size', () => {
    expect(at('room', 0.012)).toBeLessThan(0.6);
    expect(at('room', 0.06)).toBeGreaterThan(0.9);
    expect(at('room', 0.1)).toBeGreaterThan(0.9);
  });

  it('is noise from the start in a plate', () => {
    expect(at('plate', 0.018)).toBeGreaterThan(0.85);
    expect(at('plate', 0.06)).toBeGreaterThan(0.85);
  });
});

describe('a plate', () => {
  it('lets high tones run ahead of low ones, and a room does not', () => {
    const middle = (sound: Float64Array): number => {
      const whole = energy(sound);
      let sum = 0;
      return sound.findIndex((volts) => {
        sum += volts * volts;
        return sum > whole / 2;
      });
    };
    /** When half of a band's energy has come, s; what the band itself takes is taken off. */
    const half = (model: string, hertz: number): number => {
      const settings = { model, size: 0.03, decay: 0.1, damping: 20_000 };
      const own = middle(
        band(
          new Float64Array(4800).map((_, n) => +(n === 0)),
          hertz,
          1,
        ),
      );
      const all = HALLS.map((hall) => middle(band(response(settings, 0.3, hall).left, hertz, 1)));
      return (mean(all) - own) / RATE;
    };
    // The lows wait for 0.3 of the size at each round, and each is heard after one round at least.
    expect(half('plate', 100) - half('plate', 3000)).toBeGreaterThan(0.3 * 0.03);
    close(half('room', 100), half('room', 3000), {
      abs: 0.3 * 0.03,
      unit: 's',
      why: 'in a room the lows do not wait: less than the least that one would',
    });
  });
});

describe('the network', () => {
  /** What the definition tells the circuit. */
  function told(settings: AnyValues) {
    const calls: { readonly name: string; readonly values: readonly (number | boolean)[] }[] = [];
    const site = {
      sampleRate: RATE,
      input: () => 0,
      heard: () => 0,
      seeds: () => [1, 2, 3, 4],
      make: (name: string, ...values: (number | boolean)[]) => {
        calls.push({ name, values });
        return 0;
      },
      call: (name: string, ...values: (number | boolean)[]) => {
        calls.push({ name, values });
      },
    } as unknown as Site;
    reverberator.create?.(valuesOf(reverberator, settings), site);
    return calls.map(({ name, values }) => ({ name, values: values.map(Number) }));
  }

  /** The same network, each part as the header has it, with all sixteen by sixteen products. */
  function slow(settings: AnyValues, input: Float64Array): Sides {
    const calls = told(settings);
    const [, , , , , early = 0, dispersers = 0, bend = 0, keep = 0, dry = 0, wet = 0] =
      calls[0]?.values ?? [];
    const named = (name: string) =>
      calls.filter((call) => call.name === name).map(({ values }) => values.slice(1));
    const lines = named('reverberatorLine').map(
      ([samples = 0, gain = 0, pole = 0, into = 0, left = 0, right = 0]) => ({
        queue: new Array<number>(samples).fill(0),
        ...{ gain, pole, into, left, right },
        absorbed: 0,
        passes: Array.from({ length: dispersers }, () => ({ x: 0, y: 0 })),
      }),
    );
    const diffusers = named('reverberatorDiffuser').map(([samples = 0, gain = 0]) => ({
      xs: new Array<number>(samples).fill(0),
      ys: new Array<number>(samples).fill(0),
      gain,
    }));
    const waiting = new Array<number>(early).fill(0);
    let [before, moving] = [0, 0];
    const left = new Float64Array(input.length);
    const right = new Float64Array(input.length);
    input.forEach((x, n) => {
      moving = x - before + keep * moving;
      before = x;
      waiting.push(moving);
      let u = waiting.shift() as number;
      for (const { xs, ys, gain } of diffusers) {
        const y = gain * u + (xs.shift() as number) - gain * (ys.shift() as number);
        xs.push(u);
        ys.push(y);
        u = y;
      }
      const given = lines.map((line) => {
        const late = line.queue.shift() as number;
        line.absorbed = line.gain * (1 - line.pole) * late + line.pole * line.absorbed;
        let y = line.absorbed;
        for (const pass of line.passes) {
          const next: number = bend * y + pass.x - bend * pass.y;
          pass.x = y;
          pass.y = next;
          y = next;
        }
        return y;
      });
      const sum = (side: 'left' | 'right'): number =>
        given.reduce((total, y, k) => total + y * (lines[k]?.[side] ?? 0), 0);
      left[n] = dry * x + wet * sum('left');
      right[n] = dry * x + wet * sum('right');
      lines.forEach((line, j) => {
        const mixed = given.reduce((total, y, k) => total + (ODD[j & k] ? -y : y), 0);
        line.queue.push(mixed / 4 + line.into * u);
      });
    });
    return { left, right };
  }

  /** Whether each number up to 15 has an odd count of ones in binary: the sign in the Hadamard matrix. */
  const ODD = Array.from(
    { length: 16 },
    (_, n) => n.toString(2).replaceAll('0', '').length % 2 === 1,
  );

  it.each([
    { model: 'room', size: 0.002, 'pre-delay': 0.001 },
    { model: 'plate', size: 0.002, mix: 1, damping: 700 },
  ])('gives what a slow one gives: $model', (settings) => {
    const input = new Float64Array(4000).map((_, n) => (n < 900 ? Math.sin(n * n) : 0));
    const site = { sampleRate: RATE, settings };
    // The seeds that `told` gives out.
    const kind = {
      ...reverberator,
      create: (values: AnyValues, made: Site) =>
        reverberator.create?.(values, { ...made, seeds: () => [1, 2, 3, 4] }),
    };
    const given = new Bench(kind, site).run(input.length, { in: input });
    const wanted = slow(settings, input);
    const allowed = {
      abs: 1e-12,
      unit: 'V',
      why: 'sums in other brackets, over some forty rounds',
    };
    for (const side of ['left', 'right'] as const)
      wanted[side].forEach((volts, n) => {
        close(jack(given, side)[n] as number, volts, allowed);
      });
  });

  it('has sixteen different primes, from 0.55 to 1.65 of its size and their mean near it', () => {
    fc.assert(
      fc.property(fc.integer({ min: 400, max: 8000 }), fc.integer(), (size, seed) => {
        const lengths = lineLengths(size, new Random(Uint32Array.of(seed, 1, 2, 3)));
        expect(new Set(lengths).size).toBe(16);
        for (const length of lengths) {
          const divisors = Array.from({ length: 115 }, (_, k) => k + 2).filter(
            (k) => k < length && length % k === 0,
          );
          // The longest is under 13,300, whose root is 115.3.
          expect(divisors).toEqual([]);
          expect(length).toBeGreaterThanOrEqual(0.55 * size);
          // Primes of this size lie at most 72 apart (31397 and 31469).
          expect(length).toBeLessThanOrEqual(1.65 * size + 72);
        }
        close(mean(lengths), size, {
          rel: 0.06,
          unit: 'samples',
          why: 'a place within each ratio',
        });
      }),
      runs(100),
    );
  });

  it('loses in each delay what its length asks for, low and at the damping, and gains nowhere', () => {
    fc.assert(
      fc.property(
        fc.record({
          low: between(50, 12_000),
          decay: between(400, 6_000_000),
          damping: between(0.001, 0.45),
          part: between(0.6, 1),
        }),
        ({ low, decay, damping, part }) => {
          const { gain, pole } = absorption(low, part * low, decay, damping);
          expect(gain).toBeGreaterThanOrEqual(0);
          expect(gain).toBeLessThan(1);
          expect(pole).toBeGreaterThanOrEqual(0);
          expect(pole).toBeLessThan(1);
          const w = 2 * Math.PI * damping;
          const size = Math.hypot(1 - pole * Math.cos(w), pole * Math.sin(w));
          const lost = -20 * Math.log10((gain * (1 - pole)) / size);
          const own = (pole * Math.cos(w) - pole * pole) / (size * size);
          close(lost, (120 * (part * low + own)) / decay, {
            rel: 1e-6,
            unit: 'dB',
            why: 'halved to the last place of the pole, near which delays grow as 1/(1 - pole)',
          });
          close(-20 * Math.log10(gain), (60 * (low + pole / (1 - pole))) / decay, {
            rel: 1e-9,
            unit: 'dB',
            why: 'the closed form',
          });
        },
      ),
      runs(300),
    );
  });
});

it('gives the input alone at a mix of 0 %, to the bit', () => {
  const noise = new Float64Array(2000).map((_, n) => Math.sin(n * n));
  const out = new Bench(reverberator, { settings: { mix: 0 } }).run(2000, { in: noise });
  expect(jack(out, 'left')).toEqual(noise);
});

it('waits for its pre-delay', () => {
  const settings = { decay: 0.2, size: 0.004 };
  const at = response(settings, 0.1).left;
  const late = response({ ...settings, 'pre-delay': 0.03 }, 0.13).left;
  expect(late.slice(0.03 * RATE)).toEqual(at);
  expect(late.slice(0, 0.03 * RATE).some((volts) => volts !== 0)).toBe(false);
});
