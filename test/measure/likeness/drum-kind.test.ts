// What kind of drum a hit is: each figure against sounds of closed form, and the distance against its
// stated definition.

import { describe, expect, it } from 'vitest';
import { BandScope } from '../../../src/measure/likeness/band-frames.ts';
import { type DrumKind, drumKind, kindDistance } from '../../../src/measure/likeness/drum-kind.ts';
import { lookAt } from '../../../src/measure/likeness/hit-look.ts';
import { gaussian } from '../synthesis.ts';

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
    // A third of an octave, as its bands are.
    expect(Math.abs(Math.log2(kind.centreHz / 1000))).toBeLessThan(1 / 3);
    expect(kind.widthOctaves).toBeLessThan(1 / 3);
    // A straight fall of 60 dB in 0.3 s; two frames of 10 ms.
    expect(Math.abs(kind.down10Seconds - 0.05)).toBeLessThan(0.02);
    expect(Math.abs(kind.down20Seconds - 0.1)).toBeLessThan(0.02);
    expect(Math.abs(kind.down40Seconds - 0.2)).toBeLessThan(0.02);
    expect(kind.riseSeconds).toBeLessThan(0.02);
    expect(kind.toneShare).toBeGreaterThan(0.9);
    // Far less flat than noise, whose -2.5 dB are worked out below.
    expect(kind.flatnessDb).toBeLessThan(-7);
  });

  it('has the width of two sines two octaves apart, and their middle', () => {
    const kind = kindOf((time) => sine(500)(time) + sine(2000)(time));
    // Of two places of equal weight the deviation is half their distance.
    expect(Math.abs(kind.widthOctaves - 1)).toBeLessThan(0.2);
    expect(Math.abs(Math.log2(kind.centreHz / 1000))).toBeLessThan(0.2);
  });

  it('finds little tone in noise, and the rise of what swells', () => {
    const next = gaussian('seed');
    const kind = kindOf(next, 0.04);
    expect(kind.toneShare).toBeLessThan(0.2);
    // The mean of the logarithms of an exponential distribution: 10 log10(exp(-0.577)).
    expect(Math.abs(kind.flatnessDb + 2.5)).toBeLessThan(1);
    expect(Math.abs(kind.riseSeconds - 0.04)).toBeLessThan(0.02);
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
    // Sums in another order.
    expect(kindDistance(other, kind).distance).toBeCloseTo(kindDistance(kind, other).distance, 9);
  });

  it('is of the root of the mean of squares, each difference counted up to three', () => {
    // Worked: 0.95 octaves are one unit of eight; a hundred times as long is more than three.
    const higher = { ...kind, centreHz: kind.centreHz * 2 ** 0.95 };
    expect(kindDistance(kind, higher).distance).toBeCloseTo(Math.sqrt(1 / 8), 9);
    const longer = { ...kind, down40Seconds: 100 * kind.down40Seconds };
    const { distance, differences } = kindDistance(kind, longer);
    expect(distance).toBeCloseTo(Math.sqrt(9 / 8), 9);
    expect(differences[0]).toMatchObject({ figure: 'down40Seconds', own: kind.down40Seconds });
    expect(differences[0]?.by).toBeGreaterThan(3);
  });
});
