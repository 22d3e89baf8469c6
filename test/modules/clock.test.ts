// Edges against whole-number arithmetic of unlimited size, and the fence posts of a 24 PPQ clock.

import { describe, expect, it } from 'vitest';
import { clock } from '../../src/modules/clock.ts';
import { reference } from '../reference.ts';
import { gate, play, pulses, starts } from './gates.ts';
import { solo } from './solo.ts';

function run(
  settings: object,
  length: number,
  sampleRate = 48_000,
  reset: (n: number) => number = () => 0,
) {
  const circuit = solo(clock, { settings: { ...settings }, sampleRate });
  return play(circuit, ['out'], length, (n) => [reset(n)]).out;
}

describe('clock', () => {
  it('puts pulse n on the sample nearest to n / rate, however many came before', () => {
    // 333.33 Hz at 44.1 kHz: round(n 44100 100 / 33333), exactly, for 20 s.
    const found = starts(run({ rate: 333.33 }, 20 * 44_100, 44_100));
    expect(found).toHaveLength(6667);
    const wrong = found.filter((start, n) => {
      const [over, under] = [BigInt(n) * 44_100n * 100n, 33_333n];
      return BigInt(start) !== (2n * over + under) / (2n * under);
    });
    expect(wrong).toEqual([]);
  });

  it('S-tempo-09: the 49th pulse of 24 a quarter note at 125 bpm', () => {
    const { inputs, expected } = reference<{ ppq: number; bpm: number; edge: number }, number>(
      'tempo',
      'S-tempo-09',
    );
    const found = starts(run({ rate: (inputs.bpm / 60) * inputs.ppq }, 48_000));
    expect(found[inputs.edge - 1]).toBe(Math.round(expected * 48_000));
  });

  it('is high for its duty', () => {
    const found = pulses(run({ rate: 10, duty: 0.3 }, 48_000));
    expect(found.map(({ length }) => length)).toEqual(Array.from({ length: 10 }, () => 1440));
  });

  it('has a pulse and a gap of one sample at least', () => {
    // 8 samples a period at 8 kHz.
    expect(pulses(run({ rate: 1000, duty: 0.01 }, 24, 8000))).toEqual([
      { start: 0, length: 1 },
      { start: 8, length: 1 },
      { start: 16, length: 1 },
    ]);
    expect(pulses(run({ rate: 1000, duty: 0.99 }, 24, 8000)).map(({ length }) => length)).toEqual([
      7, 7, 7,
    ]);
  });

  it('starts a new pulse at once with a reset', () => {
    const found = starts(run({ rate: 100, duty: 0.1 }, 1500, 48_000, gate([600], 50)));
    expect(found).toEqual([0, 480, 600, 1080]);
  });

  it('has the levels and the resistance that were set', () => {
    const settings = { level: 3.1, low: -0.4, rate: 100, duty: 0.5, resistance: 22_000 };
    const out = run(settings, 480);
    expect([Math.max(...out), Math.min(...out)]).toEqual([3.1, -0.4]);
    const jack = clock.jacks(settings).find(({ name }) => name === 'out');
    expect(jack).toMatchObject({ facts: { type: 'voltage', low: -0.4, high: 3.1, ohms: 22_000 } });
  });
});
