import { describe, expect, it } from 'vitest';
import type { AnyValues, Circuit, Edge, OutputJack } from '../../src/modules/definition.ts';
import { rhythm } from '../../src/modules/rhythm.ts';
import { Bench } from './harness.ts';

const VALUES: AnyValues = {
  channels: [{ name: 'hat' }, { name: 'drum' }],
  level: 7,
  'accent-level': 3,
  'grace-level': -2,
};

function play(edges: readonly Edge[]) {
  const { circuit } = new Bench(rhythm, { settings: VALUES, edges });
  return circuit as Circuit & { readonly volts: Float64Array };
}

describe('rhythm', () => {
  it('has a gate for each channel, then an accent for each, then clock, run and start', () => {
    const jacks = rhythm.jacks(VALUES) as readonly OutputJack[];
    const found = jacks.map(({ name, signal, field, facts }) => [
      name,
      signal,
      field,
      facts.type === 'voltage' ? [facts.low, facts.high, facts.ohms] : [],
    ]);
    expect(found).toEqual([
      ['hat', 'gate', 'volts[0]', [0, 7, 1000]],
      ['drum', 'gate', 'volts[1]', [0, 7, 1000]],
      ['hat-accent', 'control', 'volts[2]', [-2, 3, 1000]],
      ['drum-accent', 'control', 'volts[3]', [-2, 3, 1000]],
      ['clock', 'gate', 'volts[4]', [0, 7, 1000]],
      ['run', 'gate', 'volts[5]', [0, 7, 1000]],
      ['start', 'gate', 'volts[6]', [0, 7, 1000]],
    ]);
    expect(jacks.every(({ direction }) => direction === 'out')).toBe(true);
  });

  it('puts each edge on its jack at its sample, and holds it', () => {
    const circuit = play([
      { sample: 0, output: 0, volts: 7 },
      { sample: 0, output: 5, volts: 7 },
      { sample: 1, output: 0, volts: 0 },
      { sample: 4, output: 2, volts: 3 },
      { sample: 5, output: 6, volts: 7 },
    ]);
    const course = Array.from({ length: 7 }, () => {
      circuit.run();
      return [0, 2, 5, 6].map((output) => circuit.volts[output]);
    });
    expect(course).toEqual([
      [7, 0, 7, 0],
      [0, 0, 7, 0],
      [0, 0, 7, 0],
      [0, 0, 7, 0],
      [0, 3, 7, 0],
      [0, 3, 7, 7],
      [0, 3, 7, 7],
    ]);
  });

  it('rests at 0 V before its first edge, and with no edge at all', () => {
    const late = play([{ sample: 2, output: 1, volts: 7 }]);
    const levels = Array.from({ length: 4 }, () => {
      late.run();
      return late.volts[1];
    });
    expect(levels).toEqual([0, 0, 7, 7]);

    const none = play([]);
    for (let i = 0; i < 1000; i++) none.run();
    expect(none.volts.every((volts) => volts === 0)).toBe(true);
  });
});
