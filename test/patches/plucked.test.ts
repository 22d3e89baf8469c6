/**
 * The plucked string and the hand drum, measured: pitch against equal temperament (440 Hz x 2^(n/12)), the
 * rest against what such instruments do. Ranges without another source are common practice, no source.
 */

import { describe, expect, it } from 'vitest';
import { close } from '../close.ts';
import { voltsOf } from '../findings/hear.ts';
import { patchFrom, shipped } from '../patch-of.ts';
import {
  attackOf,
  centroidOf,
  db,
  peakOf,
  played,
  RATE,
  spectrumOf,
  strongest,
  timeTo60,
  withPart,
} from './listen.ts';

const C3 = 440 * 2 ** (-21 / 12);
const STRING = { gate: 'gate.trigger', accent: 'accent.in', out: 'string.out' };
const DRUM = { gate: 'stroke.in', accent: 'accent.in', out: 'hand.out' };

function heard(part: string, jacks: typeof DRUM, hit = 'x', set = '{}'): Float64Array {
  const [left] = played(patchFrom(withPart(part, jacks, set, hit)), 4);
  return left as Float64Array;
}

/** A stretch between two times, s. */
function between(sound: Float64Array, from: number, to: number): Float64Array {
  return sound.subarray(Math.round(from * RATE), Math.round(to * RATE));
}

describe('the string', () => {
  const soft = heard('string', STRING);
  const hard = heard('string', STRING, 'X');

  it('sounds its note within 5 cents, which is what is heard of a short tone', () => {
    for (const semitones of [0, 7, 12]) {
      const sound = heard('string', STRING, 'x', `{ string.tune: ${12 + semitones} st }`);
      const wanted = C3 * 2 ** (semitones / 12);
      // The fifth partial, since a bin is 0.37 Hz wide: 5 cents of it are 1.9 Hz.
      const spectrum = spectrumOf(between(sound, 0.2, 2.9));
      const fifth = strongest(spectrum, 4.8 * wanted, 5.2 * wanted);
      close(1200 * Math.log2(fifth / (5 * wanted)), 0, {
        abs: 5,
        unit: 'cents',
        why: 'as it says',
      });
    }
  });

  it('begins at once, rings for seconds, and its highs go first', () => {
    expect(attackOf(soft, 0.004)).toBeLessThan(0.025);
    const fallen = timeTo60(soft, 0.03);
    expect(fallen).toBeGreaterThan(0.8);
    const bright = (from: number): number =>
      centroidOf(spectrumOf(between(soft, from, from + 0.2)));
    expect(bright(0.5)).toBeLessThan(0.8 * bright(0.02));
  });

  it('is plucked brighter with an accent', () => {
    const early = (sound: Float64Array): number => centroidOf(spectrumOf(between(sound, 0, 0.15)));
    expect(early(hard)).toBeGreaterThan(1.2 * early(soft));
    expect(db(peakOf(hard))).toBeLessThan(-3);
  });
});

describe('the hand drum', () => {
  const soft = heard('hand-drum', DRUM);
  const hard = heard('hand-drum', DRUM, 'X');

  it('is a short low sound that gets darker as it dies away', () => {
    expect(attackOf(soft, 0.012)).toBeLessThan(0.02);
    expect(timeTo60(soft, 0.03)).toBeGreaterThan(0.25);
    expect(timeTo60(soft, 0.03)).toBeLessThan(1);
    const bright = (from: number): number =>
      centroidOf(spectrumOf(between(soft, from, from + 0.06)));
    expect(bright(0)).toBeGreaterThan(1.3 * bright(0.15));
    close(strongest(spectrumOf(soft), 100, 400), 165, {
      abs: 3,
      unit: 'Hz',
      why: 'as wide as it is short',
    });
  });

  it('is struck harder with an accent: 3 to 12 dB', () => {
    const louder = db(peakOf(hard) / peakOf(soft));
    expect(louder).toBeGreaterThan(3);
    expect(louder).toBeLessThan(12);
  });

  it('is silent before it is struck and long after', () => {
    expect(peakOf(between(soft, 3.5, 4))).toBeLessThan(1e-5);
  });
});

describe('both together', () => {
  const patch = patchFrom(shipped('plucked-and-struck.yaml'));

  it('keep to the scale: C, Eb, F, G and Bb', () => {
    const [volts] = voltsOf(patch, 5, 'scale.out') as [Float64Array];
    const notes = new Set([...volts].map((one) => Math.round(one * 1e6) / 1e6));
    expect(notes.size).toBeGreaterThan(3);
    for (const one of notes) {
      const semitones = (((one * 12) % 12) + 12) % 12;
      const nearest = [0, 3, 5, 7, 10, 12].map((n) => Math.abs(n - semitones));
      expect(Math.min(...nearest)).toBeLessThan(1e-4);
    }
  });

  it('strike the two drums in turn', () => {
    const [low, high] = voltsOf(patch, 2.6, 'turns.out-1', 'turns.out-2') as [
      Float64Array,
      Float64Array,
    ];
    const rises = (volts: Float64Array): number[] =>
      [...volts.keys()].filter(
        (n) => n > 0 && (volts[n] as number) > 1 && (volts[n - 1] as number) < 1,
      );
    const strokes = [
      ...rises(low).map((at) => ({ at, drum: 'low' })),
      ...rises(high).map((at) => ({ at, drum: 'high' })),
    ].sort((a, b) => a.at - b.at);
    expect(strokes.length).toBeGreaterThan(8);
    strokes.forEach(({ drum }, k) => {
      // The very first stroke rises at sample 0, before which there is nothing to rise from.
      expect(drum).toBe(k % 2 === 0 ? 'high' : 'low');
    });
  });

  it('peak between -10 and -1 dBFS', () => {
    const peak = db(Math.max(...played(patch).map(peakOf)));
    expect(peak).toBeGreaterThan(-10);
    expect(peak).toBeLessThan(-1);
  });
});
