// loop-unstable: a loop's gain above 1, and the render reaches the rails.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, rendered, troubles, voice } from '../voice.ts';

/** A mixer whose sum goes back into it through a filter's band output, which passes 1 at its cutoff. */
const loop = (back: string) =>
  voice({
    hiss: 'level: 0.1 V',
    modules: [
      `sum: { kind: mixer, level-2: ${back} }`,
      'split: { kind: multiple, jacks: 3 }',
      'ring: { kind: filter, cutoff: 400 Hz, q: 2 }',
    ],
    sound: [
      'level.out -> sum.in-1',
      'sum.out -> split.in',
      'split.out-1 -> out.left',
      'split.out-2 -> ring.in',
      'ring.band -> sum.in-2',
    ],
  });

/** Share of the second half of the song within 1 % of the rail at the mixer's output. */
function atRail(text: string): number {
  const sum = rendered(text, ['sum.out']).volts[0] as Float64Array;
  const half = sum.subarray(sum.length / 2);
  return half.filter((volts) => Math.abs(volts) > 0.99 * 12 * (100 / 102)).length / half.length;
}

describe('loop-unstable', () => {
  it('finds a loop whose gain is above 1', () => {
    const [finding] = by('loop-unstable', loop('130 %'));
    expect(finding?.severity).toBe('caution');
    expect(atRail(loop('130 %'))).toBeGreaterThan(0.1);
    close(figure(finding, 'atRailShare'), atRail(loop('130 %')), {
      abs: 0.05,
      unit: '',
      why: 'a share, told of what the check hears of it',
    });
    expect(finding?.message).toContain('ring and sum');
  });

  it('finds nothing just under 1, where what is struck dies away', () => {
    expect(by('loop-unstable', loop('98 %'))).toEqual([]);
    expect(troubles(loop('98 %'))).toEqual([]);
    expect(atRail(loop('98 %'))).toBe(0);
  });

  it('says nothing of loops of gates, which are at their level by right', () => {
    const text = voice({
      modules: [
        'walk: { kind: step-sequencer, rows: { a: [C2, D2] }, level: 12 V }',
        'late: { kind: delay, time: 3 ms }',
        'tone: { kind: oscillator }',
      ],
      cables: [
        'drums.clock -> walk.clock',
        'walk.first -> late.trigger',
        'late.out -> walk.reset',
        'walk.a -> tone.pitch',
        'tone.sine -> out.right',
      ],
    });
    expect(by('loop-unstable', text)).toEqual([]);
  });
});
