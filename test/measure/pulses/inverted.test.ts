// A gate that is recorded upside down: made from edges at known times, either way up.

import { expect, it } from 'vitest';
import { isInverted } from '../../../src/measure/pulses/inverted.ts';
import { type PulseMeasures, pulseMeasures } from '../../../src/measure/pulses/pulses.ts';

const RATE = 8000;

/** V, at 10 V full scale, of pulses that last some seconds, in 2 s with rest at both ends. */
function recorded(
  rises: readonly number[],
  width: number,
  { low, high }: { low: number; high: number },
): PulseMeasures {
  const samples = Float64Array.from({ length: 2 * RATE }, (_, n) => {
    const isOn = rises.some((rise) => n / RATE >= rise && n / RATE < rise + width);
    return (isOn ? high : low) / 10;
  });
  const found = pulseMeasures({
    sampleRate: RATE,
    fullScale: 10,
    channel: 0,
    blocks: () => [{ channels: [samples], frames: samples.length }],
  });
  if (typeof found === 'string') throw new Error(found);
  return found;
}

const CLOCK = Array.from({ length: 12 }, (_, n) => 0.25 + n / 8);
const RHYTHM = [0.25, 0.5, 0.625, 0.75, 1.25, 1.5];
const UP = { low: 0, high: 5 };
const OVER = { low: 5, high: 0 };
const DOWN = { low: 0, high: -5 };

it.each([
  // Narrow, as long as the pause, and longer than it, with the width that is planned or without.
  ['a clock', CLOCK, 0.005, 0.005],
  ['half of its period', CLOCK, 0.0625, 0.0625],
  ['not as long as planned', CLOCK, 0.0625, 0.005],
  ['whatever is planned', CLOCK, 0.005, undefined],
  ['a rhythm', RHYTHM, 0.008, 0.008],
] as const)('tells which way up it is: %s', (_, rises, width, planned) => {
  expect(isInverted(recorded(rises, width, UP), planned)).toBe(false);
  expect(isInverted(recorded(rises, width, OVER), planned)).toBe(true);
  expect(isInverted(recorded(rises, width, DOWN), planned)).toBe(true);
});

it('takes no long gate for one, nor what rests high once', () => {
  expect(isInverted(recorded(CLOCK, 0.11, UP), 0.005)).toBe(false);
  expect(isInverted(recorded(RHYTHM, 0.12, UP), 0.12)).toBe(false);
  expect(isInverted(recorded([...RHYTHM, 1.75], 0.3, UP), undefined)).toBe(false);
});
