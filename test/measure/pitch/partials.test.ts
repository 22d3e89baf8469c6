// Partials of sounds that are known by their formula: sines that fall, and noise.

import { describe, expect, it } from 'vitest';
import type { HitSound } from '../../../src/measure/likeness/band-frames.ts';
import { partialsOf } from '../../../src/measure/pitch/partials.ts';
import { close } from '../../close.ts';
import { uniform } from '../../compare/fit-recordings.ts';

const RATE = 44_100;
const ONSET = 1000;

function hit(seconds: number, of: (time: number) => number): HitSound {
  const length = Math.round(seconds * RATE);
  const samples = new Float64Array(ONSET + length);
  for (let n = 0; n < length; n++) samples[ONSET + n] = of(n / RATE);
  return { samples, sampleRate: RATE, onset: ONSET, end: samples.length, hasEnded: true };
}

/** A sine from the onset on, which falls by 60 dB in `decay` seconds. */
const ringing =
  ({ hz, amplitude, decay }: { hz: number; amplitude: number; decay: number }) =>
  (time: number): number =>
    amplitude * Math.sin(2 * Math.PI * hz * time) * 10 ** ((-3 * time) / decay);

describe('partials of a hit', () => {
  const PARTS = [
    { hz: 180, amplitude: 0.5, decay: 0.6 },
    { hz: 431, amplitude: 0.2, decay: 0.25 },
    { hz: 2750, amplitude: 0.1, decay: 0.4 },
  ];

  it('are found with their pitch, level and decay, over a noise 50 dB down', () => {
    const next = uniform(88172645);
    const sound = hit(1, (time) =>
      PARTS.reduce((sum, part) => sum + ringing(part)(time), 0.0015 * next()),
    );
    const found = partialsOf(sound, { most: 8 }).toSorted((a, b) => a.hz - b.hz);
    expect(found).toHaveLength(PARTS.length);
    PARTS.forEach(({ hz, amplitude, decay }, index) => {
      const one = found[index] as (typeof found)[number];
      close(one.hz / hz, 1, {
        abs: 0.005,
        unit: 'of it',
        why: 'a tenth of a semitone, less than is heard as false',
      });
      close(one.decay / decay, 1, {
        abs: 0.1,
        unit: 'of it',
        why: 'a fit begins there; the window of 30 ms smears',
      });
      close(20 * Math.log10(one.amplitude / amplitude), 0, {
        abs: 1,
        unit: 'dB',
        why: 'a level that is 1 dB off is where a fit begins',
      });
    });
  });

  it('are looked for between two frequencies alone, and no more than are wanted', () => {
    const sound = hit(1, (time) => PARTS.reduce((sum, part) => sum + ringing(part)(time), 0));
    const [only, ...others] = partialsOf(sound, { most: 8, lowHz: 300, highHz: 2000 });
    expect(others).toEqual([]);
    expect(only?.hz).toBeGreaterThan(429);
    expect(partialsOf(sound, { most: 2 })).toHaveLength(2);
  });

  it('are hardly any in a noise, and none in silence or in less than 20 ms', () => {
    const next = uniform(2463534242);
    const noise = hit(0.5, (time) => next() * 10 ** ((-3 * time) / 0.3));
    expect(partialsOf(noise, { most: 8 }).length).toBeLessThanOrEqual(1);
    expect(
      partialsOf(
        hit(0.5, () => 0),
        { most: 8 },
      ),
    ).toEqual([]);
    expect(
      partialsOf(hit(0.015, ringing({ hz: 500, amplitude: 1, decay: 1 })), { most: 8 }),
    ).toEqual([]);
  });
});
