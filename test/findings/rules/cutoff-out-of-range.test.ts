// cutoff-out-of-range: cutoff x 2^volts against 0.45 of the sample rate.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, rendered, voice } from '../voice.ts';

/** A filter swept by an envelope of 5 V, of which 4.9505 V arrive. */
const swept = (cutoff: string, amount: string, kind = 'filter', out = 'low') =>
  voice({
    shape: 'attack: 1 ms, decay: 80 ms, release: 80 ms, peak: 5 V',
    modules: [
      `bright: { kind: ${kind}, cutoff: ${cutoff}, control-amount: ${amount} }`,
      'on: { kind: attenuator, level: 0 %, offset: 5 V }',
    ],
    control: ['shape.out -> bright.control', 'on.out -> level.control'],
    sound: ['level.out -> bright.in', `bright.${out} -> out.left`],
  });

describe('cutoff-out-of-range', () => {
  it('finds an envelope that takes 2 kHz up by nearly five octaves', () => {
    const [finding] = by('cutoff-out-of-range', swept('2 kHz', '100 %'));
    expect(finding?.severity).toBe('note');
    close(figure(finding, 'topHertz'), 2000 * 2 ** (500 / 101), {
      abs: 0.0005,
      unit: 'Hz',
      why: 'a closed form on both sides',
    });
    expect(figure(finding, 'highestHertz')).toBe(21_600);
  });

  it('is right: while the envelope is up, more volts change nothing', () => {
    const held = (peak: string) =>
      rendered(
        swept('2 kHz', '100 %')
          .replace('peak: 5 V', `peak: ${peak}, sustain: 100 %`)
          .replace('gate: 8 ms', 'gate: 400 ms'),
        ['bright.low'],
        0.4,
      ).volts[0] as Float64Array;
    // 4 V and 5 V both ask for more than 21.6 kHz; 3 V asks for 15.7 kHz.
    const [three, four, five] = ['3 V', '4 V', '5 V'].map(held) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    const differ = (a: Float64Array, b: Float64Array): number =>
      a.reduce(
        (most, volts, i) => (i < 4800 ? most : Math.max(most, Math.abs(volts - (b[i] as number)))),
        0,
      );
    expect(differ(four, five)).toBeLessThan(1e-9);
    expect(differ(three, four)).toBeGreaterThan(0.01);
  });

  it('finds nothing within a semitone of the highest, in either kind, or downwards', () => {
    // 700 Hz x 2^4.9505 is 21.64 kHz.
    expect(by('cutoff-out-of-range', swept('700 Hz', '100 %'))).toEqual([]);
    expect(by('cutoff-out-of-range', swept('760 Hz', '100 %'))).toHaveLength(1);
    expect(by('cutoff-out-of-range', swept('700 Hz', '100 %', 'ladder', 'out'))).toEqual([]);
    expect(by('cutoff-out-of-range', swept('760 Hz', '100 %', 'ladder', 'out'))).toHaveLength(1);
    expect(by('cutoff-out-of-range', swept('2 kHz', '-100 %'))).toEqual([]);
  });
});
