// Means of powers, against sums computed separately.

import { describe, expect, it } from 'vitest';
import { HOPS_KEPT, HopLevels } from '../../../src/measure/hits/hop-levels.ts';
import { close } from '../../close.ts';
import { gaussian } from '../synthesis.ts';

describe('HopLevels', () => {
  it('gives the mean of any stretch it remembers, loud or quiet', () => {
    const next = gaussian('powers');
    const levels = new HopLevels();
    const powers: number[] = [];
    for (let h = 0; h < 2000; h++) {
      // Loud, and 90 dB down, for 300 hops each.
      const power = next() ** 2 * (Math.floor(h / 300) % 2 === 0 ? 0.5 : 5e-10);
      powers.push(power);
      levels.add(Float64Array.of(power, power, power, power));
      const from = Math.max(0, h + 1 - HOPS_KEPT + 1 + (h % 200));
      const stretch = powers.slice(from, h + 1);
      const mean = stretch.reduce((sum, one) => sum + one, 0) / stretch.length;
      close(levels.mean(1, from, h + 1), mean, {
        abs: 1e-9 * mean + 1e-13,
        unit: '',
        why: 'a sum of 256 powers up to 5 is known to 1e-13',
      });
    }
  });

  it('takes what comes before the start for silence', () => {
    const levels = new HopLevels();
    levels.add(Float64Array.of(0, 0, 1, 1));
    expect(levels.mean(2, -3, 1)).toBe(0.25);
    expect(levels.mean(2, -3, 0)).toBe(0);
  });

  it('tells of another silence where the loudest is louder by 1 dB', () => {
    const levels = new HopLevels();
    const add = (power: number) => levels.add(Float64Array.of(power, power, power, power));
    expect(add(0.1)).toBe(true);
    expect(add(0.12)).toBe(false);
    expect(add(0.13)).toBe(true);
    close(levels.silence, 0.13e-6, { rel: 0.01, unit: '', why: '60 dB down, and -100 dB' });
  });
});
