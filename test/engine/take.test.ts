// Takes, loops and stems of whole patches: how long they are, that a loop has no seam, and that
// stems sum to the mix.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { Loop } from '../../src/engine/loop.ts';
import { render } from '../../src/engine/render.ts';
import { stemsOf } from '../../src/engine/stems.ts';
import { LONGEST_TAIL, Take, type TakeOptions } from '../../src/engine/take.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { jackName, type Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { barsWithin } from '../../src/timing/length.ts';
import { close } from '../close.ts';

const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));

function patchOf(text: string): Patch {
  const { patch, problems } = readPatch(text, {
    file: 'test.yaml',
    kinds: KINDS,
    load: (path) => readFileSync(join(PATCHES, path), 'utf8'),
  });
  if (patch === undefined) throw new Error(JSON.stringify(problems));
  return patch;
}

const kit = patchOf(readFileSync(join(PATCHES, 'two-bar-kit.yaml'), 'utf8'));

/** A hat whose tail lasts longer than a step; 120 bpm, one bar of 2 s. */
const HAT = `
title: hat
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 10 ms, patterns: { a: { hat: "x--- --x- ---- x--x" } } }
  tone: { kind: oscillator, at-zero: 333 Hz }
  shape: { kind: envelope, decay: 700 ms, release: 700 ms }
  level: { kind: amplifier }
  out: { kind: output }
cables: [drums.hat -> shape.trigger, shape.out -> level.control, tone.sine -> level.in, level.out -> out.left]
`;

const ONCE: Omit<TakeOptions, 'tail'> = { sampleRate: 48_000, length: { unit: 'song' } };

function joined(parts: readonly Float64Array[]): Float64Array {
  const all = new Float64Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

function play(take: Take | Loop): { left: Float64Array; stems: Float64Array[] } {
  const left: Float64Array[] = [];
  const stems: Float64Array[][] = take.stems.map(() => []);
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    left.push((take.channels[0] as Float64Array).slice(0, frames));
    take.stems.forEach((channels, index) => {
      stems[index]?.push((channels[0] as Float64Array).slice(0, frames));
    });
  }
  return { left: joined(left), stems: stems.map(joined) };
}

describe('the length of a take', () => {
  const hat = patchOf(HAT);
  const frames = (options: Partial<TakeOptions>): number =>
    play(new Take(hat, { ...ONCE, tail: { unit: 'seconds', value: 0 }, ...options })).left.length;

  it('is the song once: a bar of four quarters at 120 bpm is 2 s', () => {
    expect(frames({})).toBe(96_000);
    expect(frames({ sampleRate: 44_100 })).toBe(88_200);
  });

  it('is so many bars, the song repeating', () => {
    expect(frames({ length: { unit: 'bars', value: 3 } })).toBe(3 * 96_000);
  });

  it('is so many seconds, to the sample, and the tail asked for', () => {
    expect(frames({ length: { unit: 'seconds', value: 1.25 } })).toBe(60_000);
    expect(frames({ tail: { unit: 'seconds', value: 0.5 } })).toBe(96_000 + 24_000);
  });

  it('ends when the tail has died away: 90 dB under full scale, then 0.2 s', () => {
    // The last hit is on step 16, at 1.875 s, its envelope notices it 1 ms later, attacks for 1 ms;
    // 5 V of envelope and 5 V of tone give 0.5 of full scale less two loaded wires, and from there
    // tau ln(level / 10^-4.5) is the time to -90 dB, with tau = 0.7 s / 5.
    const level = 0.5 * (100 / 101) ** 3;
    const silent = 1.877 + 0.14 * Math.log(level / 10 ** -4.5);
    const { left } = play(new Take(hat, { ...ONCE, tail: { unit: 'silence' } }));
    // A period of the tone may pass between its crests, and a block is read whole.
    expect(left.length / 48_000).toBeGreaterThan(silent + 0.2 - 1 / 333);
    expect(left.length / 48_000).toBeLessThan(silent + 0.2 + 128 / 48_000);
  });

  it('cuts a drone after the longest tail and says so', () => {
    const drone = patchOf(`
title: drone
modules: { tone: { kind: oscillator }, out: { kind: output } }
cables: [tone.sine -> out.left]
`);
    const take = new Take(drone, { ...ONCE, sampleRate: 8000, tail: { unit: 'silence' } });
    expect(play(take).left.length).toBe((4 + LONGEST_TAIL) * 8000);
    expect(take.cut).toBe(true);
  });

  it('has its bars where the tempo puts them', () => {
    expect(barsWithin(hat, 5)).toEqual([0, 2, 4]);
  });
});

describe('a loop', () => {
  it('adds what rings on after its end to its head, and is otherwise the take', () => {
    const hat = patchOf(HAT);
    const loop = play(new Loop(hat, ONCE)).left;
    const whole = play(new Take(hat, { ...ONCE, tail: { unit: 'silence' } })).left;
    expect(loop.length).toBe(96_000);
    expect(whole.length).toBeGreaterThan(loop.length);
    const folded = whole.slice(0, loop.length);
    for (let i = loop.length; i < whole.length; i++)
      folded[i - loop.length] = (folded[i - loop.length] as number) + (whole[i] as number);
    expect(loop).toEqual(folded);
  });

  it('has no seam: the step from its last sample to its first is no larger than others near it', () => {
    const loop = play(new Loop(patchOf(HAT), ONCE)).left;
    const around = [...loop.slice(-100), ...loop.slice(0, 40)];
    const steps = around.slice(1).map((value, i) => Math.abs(value - (around[i] as number)));
    expect(steps[99]).toBeLessThanOrEqual(Math.max(...steps.slice(0, 99)) * 1.01);
  });

  // Times of the pattern: 120 bpm, a quarter every 0.5 s; the flam takes 20 ms. A groove that began with one
  // limped each time round, its first beat 20 ms late.
  it.each([
    ['the song', { unit: 'song' }, 2],
    ['two bars', { unit: 'bars', value: 2 }, 4],
    ['1.5 s of it', { unit: 'seconds', value: 1.5 }, 1.5],
  ] as const)('that begins with a flam has its first beat on time: %s', (_, length, seconds) => {
    const patch = patchOf(
      HAT.replace('"x--- --x- ---- x--x"', '{ steps: "f--- x--- x--- x---", flam: 20 ms }'),
    );
    const probes = [{ module: 'drums', jack: 'hat' }];
    for (const sampleRate of [44_100, 48_000]) {
      const { probes: heard, channels } = render(patch, { loop: true, sampleRate, length, probes });
      const [gate = new Float64Array()] = heard;
      const rises = [...gate.keys()].filter(
        (n) => (gate[n] as number) > 2.5 && !((gate[n - 1] ?? 0) > 2.5),
      );
      const beats = Array.from({ length: seconds / 0.5 }, (__, k) => 0.5 * k);
      const graces = [2, 4].filter((time) => time < seconds).concat(seconds);
      const times = [...beats, ...graces.map((time) => time - 0.02)].sort((a, b) => a - b);
      expect(rises).toEqual(times.map((time) => Math.round(time * sampleRate)));
      const blocks = play(new Loop(patch, { sampleRate, length })).left;
      expect(blocks).toEqual(channels[0]);
    }
  });

  it('goes round more than once when the tail is longer than the loop', () => {
    const short = patchOf(
      HAT.replace('"x--- --x- ---- x--x"', '"x"').replace('120 bpm', '400 bpm'),
    );
    const loop = new Loop(short, ONCE);
    const { left } = play(loop);
    const whole = play(new Take(short, { ...ONCE, tail: { unit: 'silence' } })).left;
    expect(whole.length).toBeGreaterThan(3 * left.length);
    let sum = 0;
    for (let i = 7; i < whole.length; i += left.length) sum += whole[i] as number;
    close(left[7], sum, { abs: 5e-15, unit: '', why: 'the same sum in the same order' });
  });
});

describe('stems', () => {
  it('are the voices that the last mixers add, in the order of the modules', () => {
    const jacks = stemsOf(kit).map(({ jack }) => jackName(jack));
    expect(jacks.sort()).toEqual(
      [
        'hats.closed-level.out',
        'hats.open-level.out',
        'kick.level.out',
        'snare.skin-level.out',
        'snare.wires-level.out',
      ].sort(),
    );
  });

  it('sum to the mix', () => {
    const take = new Take(kit, {
      ...ONCE,
      tail: { unit: 'seconds', value: 0 },
      stems: stemsOf(kit),
    });
    const { left, stems } = play(take);
    let worst = 0;
    left.forEach((value, i) => {
      const sum = stems.reduce((total, stem) => total + (stem[i] as number), 0);
      worst = Math.max(worst, Math.abs(sum - value));
    });
    // Rounding of a few sums in double precision; a 24-bit step is 1.2e-7.
    expect(worst).toBeLessThan(1e-12);
    for (const stem of stems) expect(stem.some((value) => Math.abs(value) > 0.01)).toBe(true);
  });
});
