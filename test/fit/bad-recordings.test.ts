// Every way in which a recording can be bad: a fit reports the defect, and picks a hit, or refuses with the
// reason and what to do. Each recording is of closed form, so that its defect is known.

import { describe, expect, it } from 'vitest';
import { fitData } from '../../src/cli/reports/fit-report.ts';
import type { Fit } from '../../src/fit/fit.ts';
import { type RecordedHits, recordedHits } from '../../src/fit/recording.ts';
import { hitDistance } from '../bench/hit-distance.mjs';
import { close } from '../close.ts';
import { source, uniform } from '../compare/fit-recordings.ts';

const RATE = 8000;
const FITTED = { settings: [], pairs: [], refused: [], kind: null } as unknown as Fit;

/** A struck tone with a click of noise, one every second. */
function hits(seconds = 1.5, change = (value: number, _time: number): number => value) {
  const next = uniform(2463534242);
  return new Float64Array(seconds * RATE).map((_, n) => {
    const time = n / RATE - 0.5;
    const since = time < 0 ? 0 : time % 1;
    const tone = 0.4 * Math.exp(-since / 0.05) * Math.sin(2 * Math.PI * 200 * since);
    const click = 0.2 * Math.exp(-since / 0.01) * next();
    return change(time < 0 ? 0 : tone + click, n / RATE);
  });
}
const sine = (hz: number, time: number): number => Math.sin(2 * Math.PI * hz * time);
const defectsIn = (recording: RecordedHits): readonly string[] =>
  fitData(FITTED, recording, 'out.yaml').recording.defects;

describe('a bad recording', () => {
  it.each([
    ['as it should be', hits(), 0, []],
    ['clipped', hits(1.5, (value) => Math.max(-0.2, Math.min(0.2, value))), 0, ['clipped']],
    ['beside zero', hits(1.5, (value) => value + 0.2), 0, ['offset']],
    // A cycle of 4 s: far below what is heard.
    ['that drifts', hits(4, (value, time) => value + 0.2 * sine(0.25, time)), 0, ['drift']],
    ['with hum', hits(1.5, (value, time) => value + 0.03 * sine(50, time)), 0, ['hum']],
    ['of 8 bits', hits(1.5, (value) => Math.round(128 * value) / 128), 8, ['coarse']],
  ])('%s is fitted to, and said to be', (_, samples, bits, defects) => {
    const recording = recordedHits(source(RATE, samples), 'take.wav', bits);
    expect(defectsIn(recording)).toEqual(defects);
    // The hit is found where it is, half a second in or a whole one later: a millisecond is 8 samples.
    close(recording.chosen.time % 1, 0.5, {
      abs: 0.002,
      unit: 's',
      why: "the hit's place within its second: a millisecond is 8 samples",
    });
  });

  // The hits are the same samples without the fault, so that by another computation, the bank of filters of the bench,
  // both are as far from a third hit, and nearly the same. Where nothing is taken out, hum puts them some dB apart.
  it.each([
    ['hum', (time: number) => 0.02 * sine(50.02, time) + 0.01 * sine(150.06, time)],
    ['drift', (time: number) => 0.2 * sine(0.25, time)],
  ])('%s is taken out of what is compared', (kind, fault) => {
    const heard = (change: (value: number, time: number) => number) =>
      recordedHits(source(RATE, hits(3, change)), 'take.wav');
    const [clean, faulty] = [heard((value) => value), heard((value, time) => value + fault(time))];
    expect(faulty.defects.map((defect) => defect.kind)).toEqual([kind]);
    const { drift, hum } = faulty.mends ?? { drift: false, hum: [] };
    expect({ drift, hum: hum.map(({ hz }) => Math.round(hz)) }).toEqual({
      drift: kind === 'drift',
      hum: kind === 'hum' ? [50, 150] : [],
    });
    const apart = (one: RecordedHits): number =>
      hitDistance(clean.sound.samples, one.sound.samples, RATE);
    // A residue 80 dB under the peak is under the floor of the distance, 60 dB; near that it moves some frames.
    expect(apart(faulty)).toBeLessThan(0.1);
    const left = hits(3, (value, time) => value + fault(time));
    if (kind === 'hum') expect(hitDistance(clean.sound.samples, left, RATE)).toBeGreaterThan(2);
  });

  it('with channels of opposite sign is turned over, not lost', () => {
    const both = recordedHits(
      source(
        RATE,
        hits(),
        hits().map((value) => -value),
      ),
      'take.wav',
    );
    expect(defectsIn(both)).toEqual(['opposed']);
    const one = recordedHits(source(RATE, hits()), 'take.wav');
    close(both.kind.centreHz, one.kind.centreHz, {
      abs: 5e-7,
      unit: 'Hz',
      why: 'the same sound, its sides added in another order',
    });
  });

  it('that is a loop has one hit chosen and named, and only those like it beside it', () => {
    const next = uniform(88675123);
    // Two strokes of one drum, and of a shaker between them.
    const loop = hits(4, (value, time) => {
      const since = (time + 0.25) % 1;
      return value + (since < 0.2 ? 0.1 * Math.exp(-since / 0.02) * next() : 0);
    });
    const { found, used, chosen } = recordedHits(source(RATE, loop), 'loop.wav');
    expect(found).toBeGreaterThan(4);
    expect(used).toBeLessThan(found);
    close(chosen.time % 1, 0.5, { abs: 0.002, unit: 's', why: 'as above' });
  });

  it('of more than a minute is looked at for its first minute, which is told', () => {
    const { isLonger, seconds } = recordedHits(source(RATE, hits(75)), 'long.wav');
    expect({ isLonger, seconds }).toEqual({ isLonger: true, seconds: 60 });
  });

  it.each([
    ['silent', new Float64Array(RATE), /take\.wav: it is silent.*Record a hit/],
    ['of 2 ms', hits().slice(RATE / 2, RATE / 2 + 16), /2\.0 ms long, too short/],
    [
      'a steady tone',
      new Float64Array(2 * RATE).map((_, n) => 0.3 * sine(300, n / RATE)),
      /no hit was found.*a little silence before it/,
    ],
  ])('%s is refused with the reason and what to do', (_, samples, message) => {
    expect(() => recordedHits(source(RATE, samples), 'take.wav')).toThrow(message);
  });
});
