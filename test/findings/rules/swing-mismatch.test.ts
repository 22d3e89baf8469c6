// swing-mismatch: a straight clock beside swung hits; the distance is (swing - 50 %) x pair, and is
// measured in the render.

import { describe, expect, it } from 'vitest';
import { by, figure, RATE, rendered, rises, voice } from '../voice.ts';

const swung = (rhythm: string, hit = 'xxxxxxxx') =>
  voice({
    hit,
    rhythm: `gate: 8 ms, ${rhythm}`,
    modules: [
      'walk: { kind: step-sequencer, rows: { a: [C2, D2] } }',
      'tone: { kind: oscillator }',
    ],
    cables: ['drums.clock -> walk.clock', 'walk.a -> tone.pitch', 'tone.sine -> out.right'],
  });

describe('swing-mismatch', () => {
  it('tells how far the clock is from the swung hits', () => {
    const text = swung('swing: 60 %, clock: 4 per quarter');
    const [finding] = by('swing-mismatch', text);
    expect(finding?.severity).toBe('note');
    expect(figure(finding, 'apartSteps')).toBe(4);
    // A tenth of a pair of 250 ms.
    expect(figure(finding, 'apartSeconds')).toBeCloseTo(0.025, 6);
    const { volts } = rendered(text, ['drums.hit', 'drums.clock']);
    const [hits, clocks] = volts.map((one) => rises(one)) as [number[], number[]];
    const apart = hits.map((hit, i) => (hit - (clocks[i] as number)) / RATE);
    expect(apart.filter((time) => time > 0.005)).toHaveLength(4);
    expect(Math.max(...apart)).toBeCloseTo(0.025, 4);
  });

  it('finds a line with a swing of its own, which the clock does not follow', () => {
    const text = swung('clock: 1 per step').replace(
      'hit: "xxxxxxxx"',
      'hit: { steps: "xxxxxxxx", swing: 60 % }',
    );
    expect(by('swing-mismatch', text)).toHaveLength(1);
  });

  it.each([
    ['the clock swings along', 'swing: 60 %, clock: 1 per step', 'xxxxxxxx'],
    ['nothing swings', 'clock: 4 per quarter', 'xxxxxxxx'],
    ['no hit is on an off-step', 'swing: 60 %, clock: 4 per quarter', 'x-x-x-x-'],
    ['the clock has no off-steps', 'swing: 60 %, clock: 2 per quarter', 'xxxxxxxx'],
    ['they are less than 5 ms apart', 'swing: 51.9 %, clock: 4 per quarter', 'xxxxxxxx'],
  ])('finds nothing where %s', (_, rhythm, hit) => {
    expect(by('swing-mismatch', swung(rhythm, hit))).toEqual([]);
  });

  it('finds nothing where nobody takes the clock', () => {
    const text = voice({
      hit: 'xxxxxxxx',
      rhythm: 'gate: 8 ms, swing: 60 %, clock: 4 per quarter',
    });
    expect(by('swing-mismatch', text)).toEqual([]);
  });
});
