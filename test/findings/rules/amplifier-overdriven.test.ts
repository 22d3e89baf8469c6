// amplifier-overdriven: the control volts against unity, and the gain in the render: volts out by volts
// in, at the loudest.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, gain, voice } from '../voice.ts';

describe('amplifier-overdriven', () => {
  const peak = (volts: string, more = '') =>
    voice({
      shape: `decay: 80 ms, release: 80 ms, peak: ${volts}`,
      level: `response: linear${more}`,
    });

  it('tells how much louder a peak above unity makes the input', () => {
    const [finding] = by('amplifier-overdriven', peak('8 V'));
    expect(finding?.severity).toBe('note');
    close(10 ** (figure(finding, 'gainDb') / 20), gain(peak('8 V')), {
      rel: 0.01,
      unit: '',
      why: 'the highest sample lies a little under the peak itself',
    });
    close(figure(finding, 'gainDb'), 20 * Math.log10((8 * 100) / 101 / 5), {
      abs: 0.0005,
      unit: 'dB',
      why: 'a closed form on both sides',
    });
  });

  it('tells that max-gain cuts the top flat', () => {
    const [finding] = by('amplifier-overdriven', peak('10 V', ', max-gain: 3 dB'));
    expect(finding?.message).toContain('cut flat');
    close(20 * Math.log10(gain(peak('10 V', ', max-gain: 3 dB'))), 3, {
      abs: 0.005,
      unit: 'dB',
      why: 'the top is cut flat at it',
    });
  });

  it('finds nothing within half a decibel', () => {
    expect(by('amplifier-overdriven', peak('5 V'))).toEqual([]);
    expect(by('amplifier-overdriven', peak('5.3 V'))).toEqual([]);
    expect(20 * Math.log10(gain(peak('5.3 V')))).toBeLessThan(0.5);
    expect(by('amplifier-overdriven', peak('5.4 V'))).toHaveLength(1);
  });

  it('goes by what is heard where several voltages add up', () => {
    // Two envelopes that never play together: their sum is never 10 V.
    const sum = (low: string) =>
      voice({
        channels: '[hit, low]',
        patterns: `{ groove: { hit: "x-------", low: "${low}" } }`,
        modules: [
          'other: { kind: envelope, decay: 80 ms, release: 80 ms }',
          'sum: { kind: mixer }',
        ],
        cables: ['drums.low -> other.trigger'],
        control: ['shape.out -> sum.in-1', 'other.out -> sum.in-2', 'sum.out -> level.control'],
      });
    expect(by('amplifier-overdriven', sum('----x---'))).toEqual([]);
    expect(by('amplifier-overdriven', sum('x-------'))).toHaveLength(1);
    expect(gain(sum('x-------'))).toBeGreaterThan(1.9);
  });
});
