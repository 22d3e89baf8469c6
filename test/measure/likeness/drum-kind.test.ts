// What kind of drum a hit is: each figure against sounds of closed form, and the distance against its
// stated definition.

import { describe, expect, it } from 'vitest';
import { BandScope } from '../../../src/measure/likeness/band-frames.ts';
import { type DrumKind, drumKind, kindDistance } from '../../../src/measure/likeness/drum-kind.ts';
import { lookAt } from '../../../src/measure/likeness/hit-look.ts';
import { close } from '../../close.ts';
import { gaussian } from '../synthesis.ts';

const FRAMES = { abs: 0.02, unit: 's', why: 'two frames of 10 ms' };

const RATE = 32_000;
const SCOPE = new BandScope(RATE);

/** Half a second of a wave that falls by 60 dB in 0.3 s, after a rise. */
function kindOf(wave: (time: number) => number, rise = 0): DrumKind {
  const samples = new Float64Array(0.5 * RATE).map((_, n) => {
    const time = n / RATE;
    const level = time < rise ? time / rise : 10 ** ((-3 * (time - rise)) / 0.3);
    return 0.5 * level * wave(time);
  });
  const sound = { samples, sampleRate: RATE, onset: 0, end: samples.length, hasEnded: true };
  return drumKind(sound, lookAt(SCOPE, sound)) as DrumKind;
}

const sine = (hz: number) => (time: number) => Math.sin(2 * Math.PI * hz * time);

describe('the kind of a hit', () => {
  it('has the place, the fall and the tone of a sine', () => {
    const kind = kindOf(sine(1000));
    close(Math.log2(kind.centreHz / 1000), 0, {
      abs: 1 / 3,
      unit: 'octaves',
      why: 'a third of one, as its bands are',
    });
    expect(kind.widthOctaves).toBeLessThan(1 / 3);
    // A straight fall of 60 dB in 0.3 s; two frames of 10 ms.
    close(kind.down10Seconds, 0.05, FRAMES);
    close(kind.down20Seconds, 0.1, FRAMES);
    close(kind.down40Seconds, 0.2, FRAMES);
    expect(kind.riseSeconds).toBeLessThan(0.02);
    expect(kind.toneShare).toBeGreaterThan(0.9);
    // Far less flat than noise, whose -2.5 dB are worked out below.
    expect(kind.flatnessDb).toBeLessThan(-7);
  });

  it('has the width of two sines two octaves apart, and their middle', () => {
    const kind = kindOf((time) => sine(500)(time) + sine(2000)(time));
    // Of two places of equal weight the deviation is half their distance.
    close(kind.widthOctaves, 1, { abs: 0.2, unit: 'octaves', why: 'bands are a third of one' });
    close(Math.log2(kind.centreHz / 1000), 0, {
      abs: 0.2,
      unit: 'octaves',
      why: 'bands are a third of one',
    });
  });

  it('finds little tone in noise, and the rise of what swells', () => {
    const next = gaussian('seed');
    const kind = kindOf(next, 0.04);
    expect(kind.toneShare).toBeLessThan(0.2);
    // The mean of the logarithms of an exponential distribution: 10 log10(exp(-0.577)).
    close(kind.flatnessDb, -2.5, {
      abs: 1,
      unit: 'dB',
      why: 'one draw of noise, in bands of few bins',
    });
    close(kind.riseSeconds, 0.04, FRAMES);
  });

  it('is null for silence', () => {
    const samples = new Float64Array(RATE / 2);
    const sound = { samples, sampleRate: RATE, onset: 0, end: samples.length, hasEnded: true };
    expect(drumKind(sound, lookAt(SCOPE, sound))).toBeNull();
  });
});

describe('the distance of two kinds', () => {
  const kind = kindOf(sine(1000));

  it('is nothing between one and itself, and the same both ways', () => {
    expect(kindDistance(kind, kind).distance).toBe(0);
    const other = kindOf(sine(300), 0.03);
    close(kindDistance(other, kind).distance, kindDistance(kind, other).distance, {
      abs: 5e-10,
      unit: '',
      why: 'sums in another order',
    });
  });

  it('is of the root of the mean of squares, each difference counted up to three', () => {
    // Worked: 0.95 octaves are one unit of eight; a hundred times as long is more than three.
    const higher = { ...kind, centreHz: kind.centreHz * 2 ** 0.95 };
    close(kindDistance(kind, higher).distance, Math.sqrt(1 / 8), {
      abs: 5e-10,
      unit: '',
      why: 'rounding',
    });
    const longer = { ...kind, down40Seconds: 100 * kind.down40Seconds };
    const { distance, differences } = kindDistance(kind, longer);
    close(distance, Math.sqrt(9 / 8), { abs: 5e-10, unit: '', why: 'rounding' });
    expect(differences[0]).toMatchObject({ figure: 'down40Seconds', own: kind.down40Seconds });
    expect(differences[0]?.by).toBeGreaterThan(3);
  });
});
