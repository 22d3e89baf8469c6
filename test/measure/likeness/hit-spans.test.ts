// Strokes of one gesture are one hit: a clap of four bursts in 33 ms, as an ear takes it (Haas: 30 ms from one to the
// next; `measure/hits/bursts`), is never compared with the last of its own bursts.

import { expect, it } from 'vitest';
import { chosenHit, hitSounds } from '../../../src/measure/likeness/hit-spans.ts';
import { likenessOf } from '../../../src/measure/likeness/likeness.ts';
import { close } from '../../close.ts';
import { uniform } from '../../compare/fit-recordings.ts';

const RATE = 16_000;
const BURSTS = [0, 0.011, 0.022, 0.033];

/** Claps at some times, each of so many bursts of noise, the last of which rings on. */
function claps(times: readonly number[], seed: number): Float64Array {
  const next = uniform(seed);
  return Float64Array.from({ length: (times.length + 0.5) * RATE }, (_, n) => {
    let level = 0;
    for (const start of times)
      BURSTS.forEach((burst, k) => {
        const since = n / RATE - start - burst;
        const fall = k === BURSTS.length - 1 ? 0.04 : 0.003;
        if (since >= 0) level += 0.4 * Math.exp(-since / fall);
      });
    return level * next();
  });
}

it('takes all bursts of a clap for one hit, which begins with the first', () => {
  const times = [0.2, 1.2, 2.2];
  const wrong: string[] = [];
  for (let seed = 1; seed <= 8; seed++) {
    const hits = hitSounds(claps(times, seed), RATE);
    const onsets = hits.map(({ onset }) => onset / RATE);
    // The detector's own limit is 5 ms.
    const isRight =
      onsets.length === times.length &&
      onsets.every((onset, k) => Math.abs(onset - (times[k] as number)) < 0.005);
    if (!isRight || chosenHit(hits) < 0) wrong.push(`${seed}: ${onsets.join(' ')}`);
  }
  expect(wrong).toEqual([]);
});

it('and compares a clap from its first burst on', () => {
  const sound = (seed: number) => ({ sampleRate: RATE, channels: [claps([0.2], seed)] });
  for (const seed of [2, 3, 4, 5])
    close(likenessOf(sound(seed), sound(1)).reference.time, 0.2, {
      abs: 0.005,
      unit: 's',
      why: 'the bursts are 11 ms apart, so that 5 ms tell the first from the others',
    });
});
