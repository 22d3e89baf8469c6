// The tail after a loop's end, folded into its length, against sums made one by one.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FoldedTail } from '../../src/engine/folded-tail.ts';

/** Collects a signal from its first frame on, in blocks of the sizes given, over and over. */
function collected(loopFrames: number, signal: Float64Array, sizes: readonly number[]): FoldedTail {
  const tail = new FoldedTail(loopFrames);
  // What lies behind the frames that count must not be heard.
  const block = new Float64Array(Math.max(...sizes) + 3);
  let start = 0;
  for (let turn = 0; start < signal.length; turn++) {
    const count = Math.min(sizes[turn % sizes.length] as number, signal.length - start);
    block.fill(1e9);
    block.set(signal.subarray(start, start + count));
    tail.collect(block, start, count);
    start += count;
  }
  return tail;
}

/** Frame by frame: the tail's samples that fall on one, summed in their order, then added to the music. */
function expected(music: Float64Array, tail: Float64Array): Float64Array {
  return music.map((value, frame) => {
    const fallsHere = tail.filter((_, index) => index % music.length === frame);
    return fallsHere.length === 0 ? value : value + fallsHere.reduce((sum, one) => sum + one, 0);
  });
}

const samples = (least: number, most: number): fc.Arbitrary<Float64Array> =>
  fc.float64Array({ minLength: least, maxLength: most, min: -1e3, max: 1e3, noNaN: true });
const sizes = fc.array(fc.integer({ min: 1, max: 200 }), { minLength: 1, maxLength: 4 });

describe('a folded tail', () => {
  it('adds what lies after the music to the frames it falls on, however the blocks lie', () => {
    fc.assert(
      fc.property(samples(1, 150), samples(0, 600), sizes, (music, tail, blocks) => {
        const folded = collected(music.length, Float64Array.of(...music, ...tail), blocks);
        const loop = music.slice();
        folded.addTo(loop);
        // The same sums in the same order: no tolerance.
        expect(loop).toEqual(expected(music, tail));
      }),
    );
  });

  it('adds itself to a loop in stretches as to the whole', () => {
    fc.assert(
      fc.property(samples(1, 150), samples(0, 600), sizes, (music, tail, stretches) => {
        const folded = collected(music.length, Float64Array.of(...music, ...tail), [128]);
        const loop: number[] = [];
        const stretch = new Float64Array(Math.max(...stretches) + 3);
        for (let turn = 0; loop.length < music.length; turn++) {
          const start = loop.length;
          const size = stretches[turn % stretches.length] as number;
          const count = Math.min(size, music.length - start);
          stretch.fill(5);
          stretch.set(music.subarray(start, start + count));
          folded.addTo(stretch, start, count);
          loop.push(...stretch.subarray(0, count));
          // What lies behind the stretch stays as it was.
          expect(new Set(stretch.subarray(count))).toEqual(new Set([5]));
        }
        expect(Float64Array.from(loop)).toEqual(expected(music, tail));
      }),
    );
  });

  it('grows with a tail of several seconds and keeps all of it', () => {
    // Whole numbers, whose sums are exact in any order.
    const loopFrames = 100_000;
    const signal = new Float64Array(350_000).map((_, frame) => frame % 1013);
    const folded = collected(loopFrames, signal, [128]);
    const loop = new Float64Array(loopFrames);
    folded.addTo(loop);
    const sums = loop.map((_, frame) => {
      let sum = 0;
      for (let at = frame + loopFrames; at < signal.length; at += loopFrames) sum += at % 1013;
      return sum;
    });
    expect(loop).toEqual(sums);
  });

  it('falls on the one frame of a loop of one frame, all of it', () => {
    const folded = collected(1, Float64Array.of(100, 1, 2, 3, 4), [2]);
    const loop = Float64Array.of(100);
    folded.addTo(loop);
    expect(loop).toEqual(Float64Array.of(110));
  });

  it('is nothing where the signal ends with the music, or the loop has no frames', () => {
    const loop = Float64Array.of(1, -0, 3);
    collected(3, Float64Array.of(7, 8, 9), [2]).addTo(loop);
    collected(0, Float64Array.of(7, 8, 9), [2]).addTo(loop);
    expect(loop).toEqual(Float64Array.of(1, -0, 3));
  });
});
