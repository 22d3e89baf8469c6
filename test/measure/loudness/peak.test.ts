// The sample peak against its definition.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PeakMeter } from '../../../src/measure/loudness/peak.ts';
import { close } from '../../close.ts';
import { reference } from '../../reference.ts';

interface Sine {
  readonly fs: number;
  readonly div: number;
  readonly amp: number;
}

describe('the sample peak', () => {
  it('is the largest magnitude in any channel and any call', () => {
    const samples = fc.array(fc.double({ noNaN: true, noDefaultInfinity: true }), { minLength: 1 });
    fc.assert(
      fc.property(samples, samples, (first, second) => {
        const meter = new PeakMeter();
        meter.add([new Float64Array(first.length), Float64Array.from(first)], first.length);
        meter.add([Float64Array.from(second), new Float64Array(second.length)], second.length);
        expect(meter.peak).toBe(Math.max(...[...first, ...second].map(Math.abs)));
      }),
    );
  });

  it('of a sine at a third of the sample rate is that of its samples, not its crest', () => {
    const entry = reference<Sine, { readonly sample_peak_dBFS: number }>(
      'loudness',
      'S-loudness-10',
    );
    const { fs, div, amp } = entry.inputs;
    const meter = new PeakMeter();
    const sine = new Float64Array(fs).map((_, i) => amp * Math.sin((2 * Math.PI * i) / div));
    meter.add([sine, sine], sine.length);
    close(meter.dbfs, entry.expected.sample_peak_dBFS, {
      abs: 0.01,
      unit: 'dB',
      why: 'the reference has so many digits; what it allows a meter, 0.2 dB, is for other sines',
    });
  });

  it('is 0 dBFS at full scale and -6.02 dBFS at half of it', () => {
    // 20 log10(1/2), exact but for rounding.
    for (const [value, db] of [
      [1, 0],
      [-0.5, -6.020599913279624],
    ] as const) {
      const meter = new PeakMeter();
      meter.add([Float64Array.of(0, value)], 2);
      close(meter.dbfs, db, { abs: 1e-12, unit: 'dB', why: 'rounding' });
    }
  });

  it('is minus infinity for silence and for nothing', () => {
    const meter = new PeakMeter();
    expect(meter.dbfs).toBe(Number.NEGATIVE_INFINITY);
    meter.add([new Float64Array(100)], 100);
    expect(meter.dbfs).toBe(Number.NEGATIVE_INFINITY);
  });

  it('heeds only the frames that count', () => {
    const meter = new PeakMeter();
    meter.add([Float64Array.of(0.1, 0.9)], 1);
    expect(meter.peak).toBe(0.1);
  });

  it('refuses a sample that is not finite', () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      expect(() => new PeakMeter().add([Float64Array.of(0.5, bad)], 2)).toThrow(`${bad}`);
    }
  });
});
