import { describe, expect, it } from 'vitest';
import type { AnyValues, Edge, OutputJack } from '../../src/modules/definition.ts';
import { rhythm } from '../../src/modules/rhythm.ts';
import type { Step } from '../../src/modules/score.ts';
import { Bench } from './harness.ts';

const GHOST: Step = { strokes: 1, accent: false, ghost: true, flam: false, maybe: false };

const VALUES: AnyValues = {
  channels: [{ name: 'hat' }, { name: 'drum' }],
  // The hat alone plays a ghost stroke.
  patterns: [{ name: 'a', lines: [{ channel: 0, steps: [GHOST] }] }],
  level: 7,
  'accent-level': 3,
  'ghost-level': -3,
  'grace-level': -2,
};

/** The first samples at each jack. */
function play(edges: readonly Edge[], samples: number) {
  return new Bench(rhythm, { settings: VALUES, edges }).run(samples);
}

describe('rhythm', () => {
  it('has a gate for each channel, then an accent for each, then clock, run and start', () => {
    const all = rhythm.jacks(VALUES);
    const jacks = all.filter((jack): jack is OutputJack => jack.direction === 'out');
    const found = jacks.map(({ name, signal, facts }) => [
      name,
      signal,
      facts.type === 'voltage' ? [facts.low, facts.high, facts.ohms] : [],
    ]);
    expect(found).toEqual([
      ['hat', 'gate', [0, 7, 1000]],
      ['drum', 'gate', [0, 7, 1000]],
      ['hat-accent', 'control', [-3, 3, 1000]],
      ['drum-accent', 'control', [-2, 3, 1000]],
      ['clock', 'gate', [0, 7, 1000]],
      ['run', 'gate', [0, 7, 1000]],
      ['start', 'gate', [0, 7, 1000]],
    ]);
    // The edges count the outputs: what it listens at comes after them.
    expect(all.slice(jacks.length).map(({ name }) => name)).toEqual([
      'clock-in',
      'run-in',
      'reset-in',
    ]);
  });

  it('puts each edge on its jack at its sample, and holds it', () => {
    const given = play(
      [
        { sample: 0, output: 0, volts: 7 },
        { sample: 0, output: 5, volts: 7 },
        { sample: 1, output: 0, volts: 0 },
        { sample: 4, output: 2, volts: 3 },
        { sample: 5, output: 6, volts: 7 },
      ],
      7,
    );
    expect([...(given.hat ?? [])]).toEqual([7, 0, 0, 0, 0, 0, 0]);
    expect([...(given['hat-accent'] ?? [])]).toEqual([0, 0, 0, 0, 3, 3, 3]);
    expect([...(given.run ?? [])]).toEqual([7, 7, 7, 7, 7, 7, 7]);
    expect([...(given.start ?? [])]).toEqual([0, 0, 0, 0, 0, 7, 7]);
  });

  it('rests at 0 V before its first edge, and with no edge at all', () => {
    const late = play([{ sample: 2, output: 1, volts: 7 }], 4);
    expect([...(late.drum ?? [])]).toEqual([0, 0, 7, 7]);
    const none = Object.values(play([], 1000));
    expect(none.every((volts) => volts.every((v) => v === 0))).toBe(true);
  });
});
