// The patch of the next room: the effect of its three new modules, measured in its render.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { render } from '../../src/engine/render.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { readPatch } from '../../src/patch/read.ts';
import { component } from '../modules/spectrum.ts';

const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const RATE = 48_000;
/** s, of a step: a quarter of a quarter note at 96 bpm. */
const STEP = 60 / 96 / 4;
const text = readFileSync(join(PATCHES, 'next-room.yaml'), 'utf8');

/** Both sides of its first bar, at full scale 1. */
function played(...set: string[]): readonly Float64Array[] {
  const { patch, problems } = readPatch(text, { file: 'next-room.yaml', kinds: KINDS, set });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  const { channels } = render(patch, { sampleRate: RATE, length: { unit: 'bars', value: 1 } });
  return channels.map((channel) => Float64Array.from(channel));
}

const rms = (sound: Float64Array, from: number, to: number): number => {
  const part = sound.subarray(Math.round(from * RATE), Math.round(to * RATE));
  return 20 * Math.log10(Math.sqrt(part.reduce((sum, v) => sum + v * v, 0) / part.length));
};

describe('the next room', () => {
  it('has a hiss that the drum pushes aside, and that is whole where it is alone', () => {
    // Only the hiss is left in the mix, and what the drum does to it.
    const hiss = ['sum.level-1=0%', 'bell.strike-level=0%', 'room.mix=0%'];
    const [ducked = new Float64Array()] = played(...hiss);
    const [plain = new Float64Array()] = played(...hiss, 'duck.ratio=1');
    const less = (step: number): number =>
      rms(plain, step * STEP + 0.02, step * STEP + 0.1) -
      rms(ducked, step * STEP + 0.02, step * STEP + 0.1);
    // With the drum on step 1; and on step 7, six steps after its stroke.
    expect(less(0)).toBeGreaterThan(8);
    expect(less(6)).toBeLessThan(less(0) - 5);
  });

  it('has a bell 137 Hz over its tuning, and 55 Hz more with an accent', () => {
    const [left = new Float64Array()] = played('sum.level-1=0%', 'sum.level-2=0%', 'room.mix=0%');
    const tuned = 65.406 * 2 ** (43 / 12);
    for (const [step, hertz] of [
      [4, tuned + 137 + 55],
      [10, tuned + 137],
    ] as const) {
      const from = Math.round((step * STEP + 0.02) * RATE);
      const part = left.slice(from, from + 9000);
      const at = (offset: number): number => component(part, RATE, hertz + offset).amplitude;
      for (const aside of [-55, 55]) expect(at(0)).toBeGreaterThan(4 * at(aside));
    }
  });

  it('has a room about it that is the same on neither side', () => {
    const [left = new Float64Array(), right = new Float64Array()] = played('room.mix=100%');
    const product = left.reduce((sum, v, n) => sum + v * (right[n] as number), 0);
    const power = (sound: Float64Array): number => sound.reduce((sum, v) => sum + v * v, 0);
    // Of one drum: where so few modes ring at 50 Hz, the sides may agree or differ in much.
    expect(Math.abs(product) / Math.sqrt(power(left) * power(right))).toBeLessThan(0.7);
    const [dry = new Float64Array(), same] = played('room.mix=0%');
    expect(same).toEqual(dry);
  });
});
