// Pulses over one another, against the straight lines that they were made of.

import { describe, expect, it } from 'vitest';
import {
  MOST_ALONE,
  type PulseOverlay,
  pulseOverlay,
} from '../../../src/measure/pulses/overlay.ts';
import { pulseMeasures } from '../../../src/measure/pulses/pulses.ts';
import { close } from '../../close.ts';
import { clockOf, type Recorded, samplesOf, sourceOf } from './synthetic.ts';

function overlaid(recorded: Recorded): PulseOverlay {
  const source = sourceOf(samplesOf(recorded), recorded.sampleRate, recorded.fullScale);
  const measures = pulseMeasures(source);
  if (typeof measures === 'string') throw new Error(measures);
  return pulseOverlay(source, measures);
}

/** V of a pulse at a time from its rise, as it was made. */
function made({ low, high, ramp }: Recorded, width: number, time: number): number {
  const done = (edge: number): number => Math.min(1, Math.max(0, (time - edge) / ramp + 0.5));
  return low + (high - low) * (done(0) - done(width));
}

describe('pulses over one another', () => {
  it('have as median the pulse that all are, at times that are not on samples', () => {
    // A ramp of 30 samples and one shorter than a sample; periods that no sample divides.
    for (const [ramp, width] of [
      [625e-6, 0.011],
      [1e-5, 0.3],
    ] as const) {
      const clock = clockOf({ period: 0.5003, count: 9, width, ramp, low: -0.4, high: 6.2 });
      const { times, median, least, most, pulses, count } = overlaid(clock);
      expect([count, pulses.length]).toEqual([9, 9]);
      for (const [column, time] of times.entries()) {
        const corners = [0, width].flatMap((edge) => [edge - ramp / 2, edge + ramp / 2]);
        const isByCorner = corners.some((corner) => Math.abs(time - corner) < 1.1 / 48_000);
        const why = isByCorner
          ? 'a line between samples cuts a corner'
          : '24 bits, edges to 0.1 us';
        const abs = isByCorner ? Math.min(6.7, ((6.6 / ramp) * 1.1) / 48_000) : 1.2e-3;
        close(median[column] as number, made(clock, width, time), { abs, unit: 'V', why });
        expect(least[column]).toBeLessThanOrEqual(median[column] as number);
        expect(most[column]).toBeGreaterThanOrEqual(median[column] as number);
      }
    }
  });

  it('show the one that is shorter in the ends and not in the median, of many too', () => {
    const clock = clockOf({ period: 0.02, count: 3 * MOST_ALONE, width: 0.008, noise: 0.01 });
    const pulses = clock.pulses.map((one, n) =>
      n === 70 ? { ...one, fall: one.rise + 3e-3 } : one,
    );
    const {
      times,
      median,
      least,
      most,
      from,
      to,
      pulses: alone,
      count,
    } = overlaid({
      ...clock,
      pulses,
    });
    expect([count, alone.length]).toEqual([3 * MOST_ALONE, 0]);
    const column = times.findIndex((time) => time > 0.005);
    // 5 % and 95 % of a Gaussian lie 1.645 standard deviations off; of 192 pulses, 0.15 of one uncertain.
    close(median[column] as number, 5, { abs: 0.004, unit: 'V', why: 'four errors of a median' });
    close(least[column] as number, 0, { abs: 0.06, unit: 'V', why: 'six spreads of the noise' });
    for (const [edge, sign] of [
      [from, -1],
      [to, 1],
    ] as const)
      close(edge[column] as number, 5 + sign * 0.01645, {
        abs: 0.006,
        unit: 'V',
        why: 'four errors of the quantile, 1.5 mV each',
      });
    expect(most[column]).toBeLessThan(5.06);
  });

  it('end where the recording does', () => {
    const clock = clockOf({ period: 0.1, count: 5, width: 0.04 });
    const { rise } = clock.pulses.at(-1) as { rise: number };
    const { pulses, times } = overlaid({ ...clock, seconds: rise + 0.03 });
    const last = pulses.at(-1)?.middle as Float32Array;
    const shown = times.filter((_, column) => !Number.isNaN(last[column]));
    close(shown.at(-1) as number, 0.03, { abs: 3e-4, unit: 's', why: 'two columns' });
  });
});
