// What `measure --against` prints and draws of two hits that have died away long before their recordings end.

import { describe, expect, it } from 'vitest';
import { comparedText } from '../../src/cli/measure/against.ts';
import { likenessOf } from '../../src/measure/likeness/likeness.ts';
import { differenceMap } from '../../src/output/chart/difference-map.ts';

const RATE = 48_000;
const SECONDS = 2;

/** A tone that falls by 60 dB in so many s, in a recording that goes on in silence from there. */
function hit(hz: number, t60: number) {
  const samples = Float64Array.from({ length: SECONDS * RATE }, (_, n) =>
    n / RATE < t60 ? 10 ** ((-3 * n) / RATE / t60) * Math.sin((2 * Math.PI * hz * n) / RATE) : 0,
  );
  return { sampleRate: RATE, channels: [samples] };
}

describe('the difference of two short hits in long recordings', () => {
  const likeness = likenessOf(hit(1000, 0.2), hit(1300, 0.25));
  const defects = { file: [], against: [] };
  const mends = { file: undefined, against: undefined };
  const given = { file: 'a.wav', against: 'b.wav', likeness, isLonger: false, defects, mends };
  // 250 ms until both have fallen by 60 dB, and what the filter of the band at 1 kHz rings on: its answer is some
  // 5 ms late and 1/B = 4.3 ms wide (B = 0.23 of 1 kHz), so that 20 ms are more than enough.
  const SOUND_MS = 270;

  it('is told in rows of the time in which something differs, and from when on nothing does', () => {
    const text = comparedText(given);
    const rows = [...text.matchAll(/^ +(\d+) to (\d+) /gm)].map(([, from, to]) =>
      [from, to].map(Number),
    );
    expect(rows.length).toBeGreaterThan(8);
    expect(rows[0]?.[0]).toBe(0);
    rows.slice(1).forEach(([from], index) => {
      expect(from).toBe(rows[index]?.[1]);
    });
    const end = rows.at(-1)?.[1] as number;
    expect(end).toBeGreaterThan(150);
    expect(end).toBeLessThanOrEqual(SOUND_MS);
    expect(text).toContain(`From ${end} ms on, nothing differs.`);
  });

  it('is drawn over that time alone', () => {
    const ticks = [...differenceMap(given).matchAll(/text-anchor="middle">(\d+)</g)].map(([, ms]) =>
      Number(ms),
    );
    expect(Math.max(...ticks)).toBeGreaterThanOrEqual(150);
    expect(Math.max(...ticks)).toBeLessThanOrEqual(SOUND_MS);
  });

  it('has all rows where nothing differs at all', () => {
    const same = likenessOf(hit(1000, 0.2), hit(1000, 0.2));
    expect(comparedText({ ...given, likeness: same })).not.toContain('nothing differs');
  });
});
