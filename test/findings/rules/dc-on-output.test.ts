// dc-on-output: the mean of the output, which is also taken from the render.

import { describe, expect, it } from 'vitest';
import { by, figure, rendered, troubles, voice } from '../voice.ts';

const shifted = (offset: string) =>
  voice({
    modules: [`shift: { kind: attenuator, level: 50 %, offset: ${offset} }`],
    sound: ['level.out -> shift.in', 'shift.out -> out.left'],
  });

function mean(text: string): number {
  const left = rendered(text, []).mix[0] as Float64Array;
  return (10 * left.reduce((sum, sample) => sum + sample, 0)) / left.length;
}

describe('dc-on-output', () => {
  it('finds the offset of an attenuator in front of the output', () => {
    const [finding] = by('dc-on-output', shifted('1 V'));
    expect(finding?.severity).toBe('caution');
    expect(figure(finding, 'meanVolts')).toBeCloseTo(mean(shifted('1 V')), 6);
    // 1 V behind 1 kohm into 100 kohm, and noise whose mean is nearly 0.
    expect(figure(finding, 'meanVolts')).toBeCloseTo(100 / 101, 2);
    expect(by('dc-on-output', shifted('-1 V'))).toHaveLength(1);
  });

  it('finds nothing under 0.1 V', () => {
    expect(troubles(shifted('0.09 V'))).toEqual([]);
    expect(mean(shifted('0.09 V'))).toBeGreaterThan(0.08);
  });

  it('does not take the wandering of red noise for it', () => {
    const text = voice({
      modules: ['slow: { kind: noise, level: 1 V }'],
      cables: ['slow.red -> out.right'],
    });
    expect(troubles(text)).toEqual([]);
    for (let i = 0; i < 12; i++)
      expect(by('dc-on-output', text.replace('seed: test', `seed: test ${i}`))).toEqual([]);
  });
});
