// A fast clock that passed a capacitor, from its first pulse on: how many pulses there are and when is what the
// recording was made of.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { pulseMeasures } from '../../../src/measure/pulses/pulses.ts';
import { between } from '../../circuits/cases.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { clockOf, samplesOf, sourceOf } from './synthetic.ts';

/** Evenly by ratios. */
const ratio = (from: number, to: number) => between(0, 1).map((part) => from * (to / from) ** part);

const drawn = fc.record({
  hz: ratio(300, 2000),
  corner: ratio(0.15, 20),
  share: between(0.25, 0.6),
  seconds: ratio(0.5, 3),
  low: fc.oneof(fc.constant(0), between(-1, 1)),
  swing: between(3, 8),
  noiseDb: between(-70, -50),
  sampleRate: fc.constantFrom<number>(44_100, 48_000, 96_000, 192_000),
  bits: fc.constantFrom(16 as const, 24 as const),
  seed: fc.integer({ min: 1, max: 1e6 }),
});

it('loses no pulse while it settles behind a capacitor', () => {
  fc.assert(
    fc.property(drawn, ({ hz, share, seconds, low, swing, noiseDb, ...rest }) => {
      const period = 1 / hz;
      const width = share * period;
      const count = Math.floor((seconds - 0.06 - width) / period);
      const noise = swing * 10 ** (noiseDb / 20);
      const ramp = Math.min(80e-6, width / 4);
      const made = clockOf({ ...rest, period, width, count, low, high: low + swing, noise, ramp });
      const found = pulseMeasures(sourceOf(samplesOf(made), rest.sampleRate));
      if (typeof found === 'string') throw new Error(found);
      expect(found.levels).toBeUndefined();
      expect(found.rises).toHaveLength(count);
      found.rises.forEach((time, n) => {
        close(time, made.pulses[n]?.rise ?? 0, {
          abs: 12e-6,
          unit: 's',
          why: 'noise of 0.3 % of the swing on a ramp of 80 us, and half a sample of 44.1 kHz where it is steeper',
        });
      });
      expect(found.clock?.missing.length ?? 0).toBe(0);
    }),
    runs(12, 60),
  );
});
