import '../shim.ts';
import { describe, expect, it } from 'vitest';
import { travelTime } from '../../../src/circuits/dsp/waves';
import { close } from '../../close.ts';

describe('travel time', () => {
  it('is the first root of speed t + change t^2 / 2 = distance', () => {
    for (const [distance, speed, change] of [
      [0.5, 1, 0],
      [0.5, 0, 1],
      [0.3, 0.4, -0.2],
      [0.3, -0.2, 2],
    ] as const) {
      const t = travelTime(distance, speed, change);
      close(speed * t + (change * t * t) / 2, distance, { abs: 1e-15, unit: '', why: 'rounding' });
      expect(t).toBeGreaterThan(0);
    }
  });
});
