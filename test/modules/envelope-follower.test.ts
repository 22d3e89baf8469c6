// The envelope follower against the closed form of an RC charge, and against the mean, the root mean
// square and the peak of a sine.

import { describe, expect, it } from 'vitest';
import { envelopeFollower } from '../../src/modules/envelope-follower.ts';
import { close } from '../close.ts';
import { pulses } from './gates.ts';
import { Bench, jack, type Volts } from './harness.ts';

const RATE = 48_000;

function followed(settings: Readonly<Record<string, unknown>>, samples: number, input: Volts) {
  const bench = new Bench(envelopeFollower, { settings, sampleRate: RATE });
  return bench.run(samples, { in: input });
}

const sine = (hertz: number) => (n: number) => 5 * Math.sin((2 * Math.PI * hertz * n) / RATE);

function mean(list: Float64Array): number {
  return list.reduce((sum, x) => sum + x, 0) / list.length;
}

describe('out', () => {
  it.each([1, -1])('charges and discharges through its two times, whichever way: %d', (sign) => {
    const [attack, release] = [0.01, 0.05]; // s: 96 and 480 samples a time constant
    const out = jack(
      followed({ attack, release }, 4000, (n) => (n < 1000 ? 4 * sign : sign)),
      'out',
    );
    const top = 4 * (1 - Math.exp(-1000 / 96));
    out.forEach((volts, n) => {
      const wanted =
        n < 1000 ? 4 * (1 - Math.exp(-(n + 1) / 96)) : 1 + (top - 1) * Math.exp(-(n - 999) / 480);
      close(volts, wanted, { abs: 1e-9, unit: 'V', why: 'thousands of roundings of 4 V' });
    });
  });

  it('with power follows the square, so that its root charges and discharges by another law', () => {
    const settings = { follows: 'power', attack: 0.02, release: 0.02 };
    const out = jack(followed(settings, 2000, -3), 'out');
    out.forEach((volts, n) => {
      const wanted = 3 * Math.sqrt(1 - Math.exp(-(n + 1) / 192));
      close(volts, wanted, { abs: 1e-9, unit: 'V', why: 'roundings of 9 V^2' });
    });
  });

  it('comes to the mean, the root mean square and the peak of a sine', () => {
    const even = { attack: 2, release: 2 };
    const size = jack(followed(even, 4 * RATE, sine(1000)), 'out').subarray(3 * RATE);
    close(mean(size), 10 / Math.PI, { rel: 2e-3, unit: 'V', why: 'exp(-7.5) of the way is left' });
    const power = jack(followed({ ...even, follows: 'power' }, 4 * RATE, sine(1000)), 'out');
    close(mean(power.subarray(3 * RATE)), 5 * Math.SQRT1_2, {
      rel: 2e-3,
      unit: 'V',
      why: 'as above',
    });
    const peak = jack(followed({ attack: 0, release: 10 }, RATE, sine(1000)), 'out');
    // Between two peaks, half a period apart, it falls by 1 - exp(-0.0005 x 5/10).
    close(Math.min(...peak.subarray(RATE / 2)), 5, { rel: 3e-4, unit: 'V', why: 'its own fall' });
  });

  it('is scaled by its gain, and ends at the rails', () => {
    const settings = { attack: 0, release: 0, gain: 6 };
    const out = jack(followed(settings, 3, [1, -2, 11]), 'out');
    const gain = 10 ** (6 / 20);
    close(out[0] as number, gain, { rel: 1e-12, unit: 'V', why: 'rounding' });
    close(out[1] as number, 2 * gain, { rel: 1e-12, unit: 'V', why: 'rounding' });
    expect(out[2]).toBe(12);
  });
});

describe('gate', () => {
  it('goes on and off either side of its threshold', () => {
    const settings = { attack: 0, release: 0, threshold: 2, hysteresis: 0.5, level: 8 };
    const ramp = (n: number): number => (n < 400 ? n / 100 : (800 - n) / 100);
    const gate = [...jack(followed(settings, 900, ramp), 'gate')];
    // On at 2.25 V, sample 225; off at 1.75 V on the way down, sample 625.
    expect(pulses(gate)).toEqual([{ start: 225, length: 400 }]);
    expect(Math.max(...gate)).toBe(8);
  });

  it('is one for each burst of sound', () => {
    const burst = (n: number): number => ((n / 4800) % 2 < 1 ? sine(800)(n) : 0);
    const gate = [...jack(followed({ attack: 0.002, release: 0.03 }, RATE, burst), 'gate')];
    expect(pulses(gate)).toHaveLength(5);
  });

  it('is off in silence, whatever the hysteresis', () => {
    const settings = { threshold: 0.1, hysteresis: 5, attack: 0, release: 0 };
    const gate = jack(
      followed(settings, 400, (n) => (n < 100 ? 4 : 0)),
      'gate',
    );
    expect(gate[50]).toBe(5);
    expect(gate.at(-1)).toBe(0);
  });
});
