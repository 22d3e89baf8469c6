// tail-cut: how far down a tail is when the next hit comes, against the amplifier's output in the render.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, highest, RATE, rendered, voice } from '../voice.ts';

/** dB of the control voltage at the second hit, just before its attack, under the first peak. */
function leftOver(text: string, second: number): number {
  const out = rendered(text, ['shape.out']).volts[0] as Float64Array;
  const at = out[Math.round(second * RATE) + 47] as number;
  return 20 * Math.log10(at / highest(out));
}

describe('tail-cut', () => {
  it('tells how far down the tail is at the next hit', () => {
    const text = voice({ hit: 'x-x-----', shape: 'attack: 1 ms, decay: 600 ms, release: 600 ms' });
    const [finding] = by('tail-cut', text);
    expect(finding?.severity).toBe('note');
    expect(figure(finding, 'cutHits')).toBe(1);
    close(figure(finding, 'levelDb'), leftOver(text, 0.25), {
      abs: 0.01,
      unit: 'dB',
      why: 'the peak lies up to a sample from a sample: 1/2880 of a time constant here, 0.003 dB',
    });
  });

  it('finds nothing where it is just 20 dB down', () => {
    // 249 ms after the peak and ln 10 time constants: tau = 108 ms, 5 tau = 540 ms.
    const at = (decay: number) =>
      voice({ hit: 'x-x-----', shape: `attack: 1 ms, decay: ${decay} ms, release: ${decay} ms` });
    expect(by('tail-cut', at(535))).toEqual([]);
    expect(leftOver(at(535), 0.25)).toBeLessThan(-20);
    expect(by('tail-cut', at(545))).toHaveLength(1);
    expect(leftOver(at(545), 0.25)).toBeGreaterThan(-20);
  });

  it('goes by what is heard: an exponential amplifier closes sooner', () => {
    const shape = 'attack: 1 ms, decay: 600 ms, release: 600 ms';
    const text = voice({ hit: 'x-x-----', shape, level: 'response: exponential' });
    expect(by('tail-cut', text)).toEqual([]);
    // 60 dB x (1 - exp(-249/120)) is 52 dB down.
    const { volts } = rendered(text, ['shape.out']);
    const out = volts[0] as Float64Array;
    const at = out[Math.round(0.25 * RATE) + 47] as number;
    expect(60 * (at / 5 - highest(out) / 5)).toBeLessThan(-20);
  });

  it('leaves flams and rolls alone, which are meant to run together', () => {
    expect(
      by('tail-cut', voice({ hit: 'f---4---', shape: 'decay: 80 ms, release: 80 ms' })),
    ).toEqual([]);
  });
});
