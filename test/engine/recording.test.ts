// Modules that a change does not affect are played once and recorded; the rest, fed with the recording, must
// give the same as the whole patch. Checked against playing the whole: every example, each of its settings in
// turn, to the bit.

import { describe, expect, it } from 'vitest';
import { instantEnd } from '../../src/engine/instant.ts';
import { Prepared } from '../../src/engine/prepared.ts';
import { partFed, Recording } from '../../src/engine/recording.ts';
import { BLOCK, type Part } from '../../src/engine/renderer.ts';
import { Take } from '../../src/engine/take.ts';
import { unchanged } from '../../src/engine/unchanged.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { readExample, SHIPPED } from '../patch-of.ts';

const RATE = 8000;
const SECONDS = 0.6;

function patchOf(name: string, set: readonly string[] = []): Patch | undefined {
  return readExample(name, { set }).patch;
}

function played(patch: Patch, seconds: number, part?: Part): Float64Array[] {
  const take = new Take(patch, {
    sampleRate: RATE,
    length: { unit: 'seconds', value: SECONDS },
    tail: { unit: 'seconds', value: seconds - SECONDS },
    part,
  });
  const pieces: Float64Array[][] = take.channels.map(() => []);
  for (let given = take.read(); given > 0; given = take.read())
    pieces.forEach((all, i) => {
      all.push((take.channels[i] as Float64Array).slice(0, given));
    });
  return pieces.map(joined);
}

function joined(pieces: readonly Float64Array[]): Float64Array {
  const all = new Float64Array(pieces.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const piece of pieces) {
    all.set(piece, at);
    at += piece.length;
  }
  return all;
}

/** To the bit. `toEqual` would take longer over millions of samples than all that is played. */
function expectSame(given: readonly Float64Array[], wanted: readonly Float64Array[]): void {
  expect(given.map(({ length }) => length)).toEqual(wanted.map(({ length }) => length));
  for (const [channel, samples] of given.entries()) {
    const other = wanted[channel] as Float64Array;
    const at = samples.findIndex((sample, n) => !Object.is(sample, other[n]));
    expect({ channel, at, is: samples[at] }).toEqual({ channel, at: -1, is: undefined });
  }
}

/** A change of each number in the patch: to the middle of what it may be. */
function changesOf(patch: Patch): string[] {
  return patch.modules.flatMap(({ name, definition }) =>
    Object.entries(definition.settings).flatMap(([setting, spec]) =>
      spec.type === 'percent'
        ? [`${name}.${setting}=${Math.round(50 * (spec.min + spec.max))}%`]
        : [],
    ),
  );
}

describe.each(SHIPPED)('%s', (name) => {
  it('sounds the same played whole, or in part and fed with the rest', () => {
    const before = patchOf(name) as Patch;
    let parts = 0;
    for (const change of changesOf(before).slice(0, 6)) {
      const after = patchOf(name, [change]);
      if (after === undefined) continue;
      const same = unchanged(before, after);
      const recording = new Recording(before, same, { sampleRate: RATE, seconds: SECONDS });
      // First for a short while, then for longer than has been kept.
      for (const seconds of [SECONDS, 2 * SECONDS]) {
        const part = recording.partOf(after) as Part;
        expectSame(played(after, seconds, part), played(after, seconds));
      }
      parts += same.size > 0 ? 1 : 0;
    }
    expect(parts).toBeGreaterThan(0);
  });

  it('sounds the same from any place on, where what is left remembers nothing', () => {
    const before = patchOf(name) as Patch;
    let ends = 0;
    for (const change of changesOf(before).slice(0, 6)) {
      const after = patchOf(name, [change]);
      if (after === undefined) continue;
      const all = new Prepared(after);
      const same = unchanged(before, all);
      const options = { sampleRate: RATE, seconds: SECONDS };
      const recording = new Recording(before, same, options);
      const { runs, feeds } = recording.partOf(all) as Part;
      const end = instantEnd(all, runs);
      if (end.size === 0) continue;
      ends++;
      const remembers = after.modules.filter(
        (module) => module.definition.create && runs.has(module.name) && !end.has(module.name),
      );
      const names = new Set(remembers.map((module) => module.name));
      const rest = new Recording(all, names, { ...options, feeds });
      const whole = played(after, SECONDS);
      for (const block of [0, 1, 17, 30]) {
        const from = block * BLOCK;
        const part = partFed(all, [recording, rest], [], from) as Part;
        const left = whole.map((samples) => samples.subarray(from));
        expectSame(played(after, SECONDS, part), left);
      }
    }
    // Where only the output is behind all that remembers, there is nothing to try.
    expect(ends).toBeGreaterThanOrEqual(name === 'closed-hat.yaml' ? 1 : 0);
  });
});

describe('instantEnd', () => {
  it('is what is behind all that remembers, and nothing that hears itself', () => {
    const text = (extra: string): Patch =>
      readPatch(
        `modules:
  hiss: { kind: noise }
  a:    { kind: attenuator }
  tone: { kind: filter }
  b:    { kind: mixer }
  c:    { kind: attenuator }
  out:  { kind: output }
cables: [hiss.white -> a.in, a.out -> tone.in, tone.low -> b.in-1, b.out -> c.in, c.out -> out.left${extra}]
`,
        { file: 'text', kinds: KINDS },
      ).patch as Patch;
    const endOf = (patch: Patch): string[] =>
      [...instantEnd(new Prepared(patch), new Set(patch.modules.map(({ name }) => name)))].sort();
    expect(endOf(text(''))).toEqual(['b', 'c']);
    expect(endOf(text(', c.out -> b.in-2'))).toEqual([]);
  });
});

describe('unchanged', () => {
  it('leaves out what a changed module drives, near and far, and what shares its net', () => {
    const before = patchOf('closed-hat.yaml') as Patch;
    const after = patchOf('closed-hat.yaml', ['bright.cutoff=3kHz']) as Patch;
    const same = unchanged(before, after);
    const running = before.modules.filter(({ definition }) => definition.create !== undefined);
    const changed = running.filter((module) => !same.has(module.name)).map((module) => module.name);
    expect(changed).toContain('bright');
    expect(changed).toContain('level');
    expect(same.has('hiss')).toBe(true);
    expect(same.has('drums')).toBe(true);
  });

  it('is nothing if the seed differs', () => {
    const before = patchOf('closed-hat.yaml') as Patch;
    expect(unchanged(before, { ...before, seed: 'another' }).size).toBe(0);
  });

  it('is everything that runs if nothing differs', () => {
    const before = patchOf('two-bar-kit.yaml') as Patch;
    const running = before.modules.filter(({ definition }) => definition.create !== undefined);
    expect(unchanged(before, patchOf('two-bar-kit.yaml') as Patch).size).toBe(running.length);
  });
});
