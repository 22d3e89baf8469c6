// The fall of a hit: times of ISO 3382, times to -20, -40 and -60 dB, two slopes, and tails that are cut
// off. Against the closed forms of an exponential, exp(-t/tau): 60 dB in tau ln 1000, 20 dB in a third.

import { describe, expect, it } from 'vitest';
import type { Hit } from '../../../src/measure/hits/hits.ts';
import { SignalMeter } from '../../../src/measure/signal.ts';
import { schroeder } from '../../bench/schroeder.mjs';
import { close } from '../../close.ts';
import { onsets, RATE } from '../detect.ts';
import { hits, noise, tone } from '../synthesis.ts';

const LN_1000 = Math.log(1000);
const AT = 0.1;

function hitOf(samples: Float64Array): Hit {
  const meter = new SignalMeter(RATE, 1, { tempo: false, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  const { hits: found } = meter.finish();
  expect(found.length).toBe(1);
  return found[0] as Hit;
}

/** A hit of two falls whose powers add, the second so many dB under the first. */
function twice(hz: number | null, early: number, late: number, db: number): Float64Array {
  const wave =
    hz === null
      ? noise(2 * RATE, 0.15, 'two slopes')
      : tone(2 * RATE, { hz, amplitude: 0.4, sampleRate: RATE });
  return wave.map((x, n) => {
    const t = n / RATE - AT;
    return t < 0 ? 0 : x * Math.hypot(Math.exp(-t / early), 10 ** (db / 20) * Math.exp(-t / late));
  });
}

describe('the times of a fall', () => {
  it.each([
    ['a tone of 200 Hz', 0.05, 200],
    ['a tone of 1 kHz', 0.2, 1000],
    ['noise', 0.1, null],
  ])('of %s are those of its time constant', (_, tau, hz) => {
    const spec = { at: AT, tau, amplitude: 0.4, ...(hz !== null && { hz }) };
    const hit = hitOf(hits(AT + 12 * tau, RATE, [spec]));
    const why = 'a straight fall; noise scatters by 2 % over 20 dB';
    const expected: [number | null, number][] = [
      [hit.edtSeconds, tau * LN_1000],
      [hit.t20Seconds, tau * LN_1000],
      [hit.t60Seconds, tau * LN_1000],
      [hit.down20Seconds, (tau * LN_1000) / 3],
      [hit.down40Seconds, (2 * tau * LN_1000) / 3],
      [hit.down60Seconds, tau * LN_1000],
    ];
    for (const [value, right] of expected) {
      close(value as number, right, { rel: 0.06, unit: 's', why });
    }
    expect(hit.slopes).toBeNull();
  });

  // A brush, a roll, a crash played backwards: ISO's integral from the hit's start also counts the swell.
  it.each([0.03, 0.06, 0.15, 0.3])(
    'of a swell of %d s are those of its fall, or in doubt',
    (rise) => {
      const tau = 0.1;
      for (const hz of [null, 400, 3000]) {
        const wave =
          hz === null
            ? noise(2 * RATE, 0.15, 'swell')
            : tone(2 * RATE, { hz, amplitude: 0.4, sampleRate: RATE });
        const { edtSeconds, t20Seconds, t60Seconds, reliability } = hitOf(
          wave.map((x, n) => {
            const t = n / RATE - AT;
            return t < 0 ? 0 : x * Math.min(t / rise, Math.exp((rise - t) / tau));
          }),
        );
        for (const value of [t20Seconds, t60Seconds]) {
          close(value as number, tau * LN_1000, {
            rel: 0.06,
            unit: 's',
            why: 'a straight fall; noise scatters by 2 % over 20 dB',
          });
        }
        expect(edtSeconds).toBeGreaterThan(1.05 * tau * LN_1000);
        expect(reliability.edt).toBeLessThan(0.5);
      }
    },
  );

  it("agree with Schroeder's integration where the fall bends", () => {
    for (const hz of [300, 1000, null]) {
      const samples = twice(hz, 0.03, 0.15, -20);
      const hit = hitOf(samples);
      const other = schroeder(samples, RATE, AT * RATE);
      const why = 'the same sum by another program';
      close(hit.edtSeconds as number, other.edt as number, { rel: 0.03, unit: 's', why });
      close(hit.t20Seconds as number, other.t20 as number, { rel: 0.03, unit: 's', why });
    }
  });

  it('are not told where the floor, or the end, comes first', () => {
    const floor = hitOf(hits(1, RATE, [{ at: AT, tau: 0.05, amplitude: 0.4, hz: 500 }], 0.004));
    expect(floor.down20Seconds).not.toBeNull();
    expect(floor.down60Seconds).toBeNull();
    expect(floor.reasons.down60).toBe('noise-floor');
    const short = hitOf(hits(AT + 0.1, RATE, [{ at: AT, tau: 0.05, amplitude: 0.4, hz: 500 }]));
    expect(short.t20Seconds).toBeNull();
    expect(short.reasons.t20).toBe('cut-short');
    expect(short.reasons.down20).toBe('cut-short');
  });
});

describe('two slopes', () => {
  it.each([
    [1000, 0.01, 0.1, -20],
    [300, 0.02, 0.2, -30],
    [1000, 0.05, 0.15, -20],
    [null, 0.02, 0.2, -30],
    [null, 0.03, 0.3, -40],
  ])('of a hit at %s Hz, %f and %f s, are both found', (hz, early, late, db) => {
    const { slopes } = hitOf(twice(hz, early, late, db));
    const why = 'the model is the truth; what noise leaves of it scatters';
    close(slopes?.earlyTau as number, early, { rel: 0.06, unit: 's', why });
    close(slopes?.lateTau as number, late, { rel: 0.06, unit: 's', why });
    // Where they are as loud as each other: -x = db - x early/late.
    const knee = db / (1 - early / late);
    close(slopes?.kneeDb as number, knee, { abs: 2.5, unit: 'dB', why: 'the loudest is smoothed' });
  });

  it('are none of one slope, nor of a floor', () => {
    for (const floor of [0, 0.0004, 0.004]) {
      for (const hz of [60, 440, 3000]) {
        const one = hits(1.5, RATE, [{ at: AT, tau: 0.08, amplitude: 0.4, hz }], floor);
        expect(hitOf(one).slopes, `${hz} Hz over ${floor}`).toBeNull();
      }
    }
  });
});

describe('a tail that is cut off', () => {
  const cut = (tail: number, floor: number) =>
    hits(1, RATE, [{ at: AT, tau: 0.05, amplitude: 0.4, hz: 400, until: tail }], floor);

  it.each([0, 0.00003])('at once, to silence or hiss, is followed to the cut (%f)', (floor) => {
    for (const tail of [0.1, 0.15, 0.2]) {
      const hit = hitOf(cut(tail, floor));
      close(hit.decayTauSeconds as number, 0.05, { rel: 0.02, unit: 's', why: 'a clean fall' });
      close(hit.t60Seconds as number, 0.05 * LN_1000, {
        rel: 0.03,
        unit: 's',
        why: 'what the cut took is added as it would have gone on',
      });
      expect(hit.reasons.down60).toBe('cut-short');
    }
  });

  it('is no stroke, whatever wave it cuts', () => {
    for (let hz = 60; hz < 1500; hz *= 1.31) {
      for (const tail of [0.053, 0.12, 0.31]) {
        const spec = { at: AT, tau: 0.3, amplitude: 0.4, hz, until: tail };
        expect(onsets(hits(1, RATE, [spec])).length, `${hz} Hz, ${tail} s`).toBe(1);
      }
    }
  });
});

describe('no onset is heard', () => {
  const drum = { at: 0.3, tau: 0.05, amplitude: 0.5, hz: 300 };

  it('where a floor begins, long or shortly before a hit', () => {
    for (const before of [0.25, 0.1, 0.05, 0.031, 0.027, 0.023, 0.012]) {
      const hiss = noise(RATE, 0.0005, `floor ${before}`);
      const from = Math.round((0.3 - before) * RATE);
      const samples = hits(1, RATE, [drum]).map((x, n) => (n < from ? x : x + (hiss[n] as number)));
      const found = onsets(samples);
      expect(found.length, `${before} s before: ${found}`).toBe(1);
      close(found[0], 0.3, { abs: 0.001, unit: 's', why: 'the promise for onsets' });
    }
  });

  it('where a beating tail sinks into coarse steps', () => {
    for (const apart of [3, 7, 13, 29]) {
      const beats = [0, apart].map((more) => ({
        ...drum,
        tau: 0.3,
        amplitude: 0.3,
        hz: 700 + more,
      }));
      const samples = hits(1.8, RATE, beats).map((x) => Math.round(x * 128) / 128);
      expect(onsets(samples).length, `${apart} Hz`).toBe(1);
    }
  });
});
