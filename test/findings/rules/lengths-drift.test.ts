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

  const rows = (settings: string, more: readonly string[] = []) =>
    voice({
      hit: 'x---x---x---x---',
      modules: [`walk: { kind: step-sequencer, ${settings} }`, 'tone: { kind: oscillator }'],
      cables: [
        'drums.clock -> walk.clock',
        'walk.pitch -> tone.pitch',
        'tone.sine -> out.right',
        ...more,
      ],
    });

  it('finds a row that lacks a step of the others, and tells it once', () => {
    const text = rows('rows: { pitch: [C2, D2, E2, F2], bright: [0 V, 1 V, 2 V] }');
    const findings = by('lengths-drift', text);
    expect(findings).toHaveLength(1);
    expect(findings[0]?.severity).toBe('note');
    expect(findings[0]?.message).toContain('bright (3 steps) and pitch (4 steps)');
    expect(figure(findings[0], 'meetSteps')).toBe(12);
    // Sixteen clocks of 125 ms a bar: both rows at their first step at 0 and at 1.5 s, and not between.
    const { volts } = rendered(text, ['walk.pitch', 'walk.bright'], 2);
    const at = (clock: number) => volts.map((row) => row[(clock * 0.125 + 0.05) * RATE]);
    const both = Array.from({ length: 13 }, (_, clock) => at(clock).every((one) => one === 0));
    expect(both.flatMap((is, clock) => (is ? [clock] : []))).toEqual([0, 12]);
  });

  it.each([
    ['a row that divides the longest', 'rows: { pitch: [C2, D2, E2, F2], bright: [0 V, 1 V] }'],
    [
      'a number of steps after which all begin again',
      'rows: { pitch: [C2, D2, E2, F2], bright: [0 V, 1 V, 2 V] }, steps: 4',
    ],
  ])('finds nothing for %s', (_, settings) => {
    expect(by('lengths-drift', rows(settings))).toEqual([]);
  });

  it('finds gates that run apart from the notes, unless a reset sends both back', () => {
    const settings = 'rows: { pitch: [C2, D2, E2, F2] }, gates: "xx-"';
    expect(by('lengths-drift', rows(settings))[0]?.message).toContain('gates (3 steps)');
    expect(by('lengths-drift', rows(settings, ['drums.start -> walk.reset']))).toEqual([]);
  });
});
