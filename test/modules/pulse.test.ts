// Lengths and edges by deduction: sample index = round(time x rate).

import { describe, expect, it } from 'vitest';
import { pulse } from '../../src/modules/pulse.ts';
import { gate, play, pulses } from './gates.ts';
import { solo } from './solo.ts';

function pulsesFor(trigger: (n: number) => number, settings: object, length = 2000) {
  return pulses(
    play(solo(pulse, { settings: { ...settings } }), ['out'], length, (n) => [trigger(n)]).out,
  );
}

describe('pulse', () => {
  it('lasts its length from the sample of the trigger, whatever the trigger lasts', () => {
    for (const width of [1, 100, 1000])
      expect(pulsesFor(gate([10], width), { length: 0.0105 })).toEqual([
        { start: 10, length: 504 },
      ]);
  });

  it('lasts one sample at least', () => {
    const circuit = solo(pulse, { settings: { length: 0.0001 }, sampleRate: 4000 });
    const { out } = play(circuit, ['out'], 10, (n) => [n === 3 ? 5 : 0]);
    expect(pulses(out)).toEqual([{ start: 3, length: 1 }]);
  });

  it('starts afresh with a trigger that comes meanwhile', () => {
    const triggers = gate([0, 300, 1000], 10);
    expect(pulsesFor(triggers, { length: 0.01, retrigger: true })).toEqual([
      { start: 0, length: 780 },
      { start: 1000, length: 480 },
    ]);
  });

  it('or ignores it', () => {
    const triggers = gate([0, 300, 479, 1000], 10);
    expect(pulsesFor(triggers, { length: 0.01, retrigger: false })).toEqual([
      { start: 0, length: 480 },
      { start: 1000, length: 480 },
    ]);
  });

  it('gives its level', () => {
    const circuit = solo(pulse, { settings: { level: 9 } });
    circuit.run(5);
    expect(circuit.out).toBe(9);
  });
});
