// clips: samples above full scale, counted in the render.

import { describe, expect, it } from 'vitest';
import { by, figure, highest, rendered, troubles, voice } from '../voice.ts';

/** A sine of 5 V behind 1 kohm, at the 100 kohm of the output: 4.9505 V. */
const tone = (fullScale: string) =>
  voice({
    out: `full-scale: ${fullScale}`,
    sound: ['tone.sine -> out.left', 'level.out -> out.right'],
    modules: ['tone: { kind: oscillator }'],
  });

describe('clips', () => {
  it('counts the samples above full scale and says by how much', () => {
    const text = tone('4.5 V');
    const [finding, ...others] = by('clips', text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('caution');
    const left = rendered(text, []).mix[0] as Float64Array;
    expect(figure(finding, 'overSamples')).toBe(
      left.filter((sample) => Math.abs(sample) > 1).length,
    );
    expect(figure(finding, 'peakVolts')).toBeCloseTo(4.5 * highest(left.map(Math.abs)), 9);
    // 5 V x 100/101 over 4.5 V.
    expect(figure(finding, 'peakDbfs')).toBeCloseTo(20 * Math.log10(500 / 101 / 4.5), 2);
  });

  it('finds nothing just under full scale', () => {
    expect(troubles(tone('4.96 V'))).toEqual([]);
    const left = rendered(tone('4.96 V'), []).mix[0] as Float64Array;
    expect(highest(left.map(Math.abs))).toBeGreaterThan(0.995);
    expect(highest(left.map(Math.abs))).toBeLessThanOrEqual(1);
  });

  it('says how much was heard of a long song', () => {
    const text = tone('4.5 V').replace(
      'song: [groove]',
      'song: [{ pattern: groove, repeats: 100 }]',
    );
    const [finding] = by('clips', text);
    expect(figure(finding, 'heardSeconds')).toBeCloseTo(30, 6);
    expect(finding?.message).toContain('in the first 30 s');
    const left = rendered(text, [], 30).mix[0] as Float64Array;
    expect(figure(finding, 'overSamples')).toBe(
      left.filter((sample) => Math.abs(sample) > 1).length,
    );
  });
});
