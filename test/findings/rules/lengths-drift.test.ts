// lengths-drift: when lines of different lengths meet again. The bars are counted in the render too.

import { describe, expect, it } from 'vitest';
import { by, figure, RATE, rendered, rises, troubles, voice } from '../voice.ts';

const two = (low: string) =>
  voice({
    channels: '[hit, low]',
    patterns: `{ groove: { hit: "x---x---x---x---", low: "${low}" } }`,
    cables: ['drums.low -> out.right'],
  });

describe('lengths-drift', () => {
  it('finds three steps against sixteen, which meet after three bars', () => {
    const [finding] = by('lengths-drift', two('x--'));
    expect(finding?.severity).toBe('note');
    expect(figure(finding, 'meetBars')).toBe(3);
    expect(figure(finding, 'meetSteps')).toBe(48);
    // A bar is two seconds; the low gate falls on the first step of bar 1 and of bar 4, not between.
    const { volts } = rendered(two('x--'), ['drums.low'], 8);
    const starts = new Set(rises(volts[0] as Float64Array));
    expect([0, 2, 4, 6].map((time) => starts.has(time * RATE))).toEqual([true, false, false, true]);
  });

  it.each(['x---', 'x-', 'x-------', 'x', 'x---x---x---x-x-'])('finds nothing for %s', (low) => {
    expect(by('lengths-drift', two(low))).toEqual([]);
  });

  it('finds a step sequencer of six steps on sixteen clocks', () => {
    const walking = (row: string, more: readonly string[] = []) =>
      voice({
        hit: 'x---x---x---x---',
        modules: [
          `walk: { kind: step-sequencer, rows: { a: ${row} } }`,
          'tone: { kind: oscillator }',
        ],
        cables: [
          'drums.clock -> walk.clock',
          'walk.a -> tone.pitch',
          'tone.sine -> out.right',
          ...more,
        ],
      });
    const six = '[C2, D2, E2, F2, G2, A2]';
    expect(figure(by('lengths-drift', walking(six))[0], 'meetBars')).toBe(3);
    const pitch = rendered(walking(six), ['walk.a'], 8).volts[0] as Float64Array;
    const first = [0, 2, 4, 6].map((time) => pitch[(time + 0.05) * RATE]);
    expect(first.map((volts) => volts === 0)).toEqual([true, false, false, true]);
    expect(by('lengths-drift', walking('[C2, D2, E2, F2]'))).toEqual([]);
    expect(troubles(walking(six))).toEqual([]);
  });
});
