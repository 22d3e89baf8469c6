// Recorded hits, against what is known of them: each was struck once; and against Schroeder's
// integration (ISO 3382-1) by another program. They are those that Debian's package `freepats` installs
// (GPL-2 with an exception), read from where they are installed: none of them is here.

import { describe, expect, it } from 'vitest';
import { SignalMeter } from '../../../src/measure/signal.ts';
import { hasRecordings, singleHits } from '../../bench/recordings.mjs';
import { schroeder } from '../../bench/schroeder.mjs';

const isThere = hasRecordings();
// Long ones are left to the bench, and every other pitch of what was recorded at many.
const SECONDS = 2;
const some = isThere
  ? singleHits().filter(({ samples, rate }, k) => samples.length < SECONDS * rate && k % 2 === 0)
  : [];
const measured = some.map(({ name, samples, rate }) => {
  const meter = new SignalMeter(rate, 1, { tempo: false, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  return { name, samples, rate, ...meter.finish() };
});

/** Says aloud that nothing was checked; in CI, which installs the package, that is an error. */
function wanted(): boolean {
  if (isThere) return true;
  expect(process.env.CI, 'CI installs freepats').toBeUndefined();
  process.stderr.write("SKIPPED: Debian's package freepats is not installed.\n");
  return false;
}

describe('recorded hits', () => {
  it('are one hit each, 19 of 20', () => {
    if (!wanted()) return;
    const others = measured.filter(({ onsets }) => onsets.length !== 1).map(({ name }) => name);
    expect(others.length, others.join(', ')).toBeLessThanOrEqual(measured.length / 20);
  });

  it("fall as Schroeder's integration says, within 15 %, 9 of 10", () => {
    if (!wanted()) return;
    for (const figure of ['edt', 't20'] as const) {
      const pairs = measured.flatMap(({ name, samples, rate, hits }) => {
        const [hit] = hits;
        const right = schroeder(samples, rate, Math.round((hit?.time ?? 0) * rate))[figure];
        return right === null ? [] : [{ name, own: hit?.[`${figure}Seconds`] ?? 0, right }];
      });
      const wrong = pairs.filter(({ own, right }) => Math.abs(own - right) > 0.15 * right);
      expect(pairs.length).toBeGreaterThan(15);
      expect(wrong.length, JSON.stringify({ figure, wrong })).toBeLessThanOrEqual(
        pairs.length / 10,
      );
    }
  });

  it('say of small bells what rings above 2.5 kHz', () => {
    if (!wanted()) return;
    const triangle = singleHits().find(({ name }) => name === '081_Triangle_2_Open');
    const { samples, rate } = triangle as { samples: Float64Array; rate: number };
    const meter = new SignalMeter(rate, 1);
    meter.add({ channels: [samples], frames: samples.length });
    expect(meter.finish().hits[0]?.pitchHz).toBeGreaterThan(2500);
  });
});
