// A hit as it is heard on the page of a fit, round and round: without clicks, and with its attack.

import { describe, expect, it } from 'vitest';
import { fadedCut } from '../../src/fit/hit-clip.ts';

const RATE = 48_000;

/** A tone of 200 Hz between two samples of a clip, the largest step of which is 2 pi 200 / RATE. */
function tone(from: number, to: number, length: number): Float64Array {
  return Float64Array.from({ length }, (_, n) =>
    n >= from && n < to ? Math.sin((2 * Math.PI * 200 * n) / RATE + 1.2) : 0,
  );
}

/** Closed form: the slope of the tone, and that of a squared sine over 5 ms, in one sample. */
const STEEPEST = (2 * Math.PI * 200) / RATE + Math.PI / (2 * 0.005 * RATE);

function largestStep(samples: Float64Array, from = 0): number {
  let most = 0;
  for (let n = from; n < samples.length; n++)
    most = Math.max(
      most,
      Math.abs((samples[(n + 1) % samples.length] as number) - (samples[n] as number)),
    );
  return most;
}

describe('faded', () => {
  it('leaves no step where a hit was cut out of what sounds on, the seam of the loop included', () => {
    const cut = tone(0, 12_000, 24_000);
    // Cut off, it steps by nearly all that a wave can.
    expect(largestStep(cut)).toBeGreaterThan(0.5);
    expect(largestStep(fadedCut(cut, RATE))).toBeLessThan(STEEPEST);
  });

  it('keeps the attack of a hit that begins in the clip, and all but its last 5 ms', () => {
    const hit = tone(480, 12_000, 24_000);
    expect([...fadedCut(hit, RATE).subarray(0, 12_000 - 240)]).toEqual([
      ...hit.subarray(0, 12_000 - 240),
    ]);
    expect(largestStep(fadedCut(hit, RATE), 481)).toBeLessThan(STEEPEST);
  });

  it('takes no more than a quarter of a hit of a few samples, and nothing of silence', () => {
    const short = tone(480, 488, 960);
    expect(fadedCut(short, RATE).subarray(0, 486)).toEqual(short.subarray(0, 486));
    expect(fadedCut(new Float64Array(10), RATE)).toEqual(new Float64Array(10));
  });
});
