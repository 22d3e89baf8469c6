// gates-merge: hits that a gate still high swallows, counted in the render's samples.

import { describe, expect, it } from 'vitest';
import { by, figure, rendered, rises, troubles, voice } from '../voice.ts';

function risesAt(text: string, jack: string): number {
  return rises(rendered(text, [jack]).volts[0] as Float64Array).length;
}

describe('gates-merge', () => {
  it('counts the hits that gates of 100 % swallow', () => {
    // Eight hits in four groups, of which each group is one gate.
    const text = voice({ rhythm: 'gate: 100 %', hit: 'xx-xxx-x xx------' });
    const [finding] = by('gates-merge', text);
    expect(finding?.severity).toBe('caution');
    expect(figure(finding, 'hits')).toBe(8);
    expect(figure(finding, 'missedHits')).toBe(8 - risesAt(text, 'shape.trigger'));
    expect(figure(finding, 'spacingSeconds')).toBeCloseTo(0.125, 9);
  });

  it('finds nothing at 99 %, where each hit rises', () => {
    const text = voice({ rhythm: 'gate: 99 %', hit: 'xx-xxx-x xx------' });
    expect(troubles(text)).toEqual([]);
    expect(risesAt(text, 'shape.trigger')).toBe(8);
  });

  it('calls it a fault where there is no second trigger at all', () => {
    const text = voice({ rhythm: 'gate: 100 %', hit: 'xxxxxxxx' });
    expect(troubles(text)).toEqual(['gates-merge fault']);
    expect(risesAt(text, 'shape.trigger')).toBe(1);
  });

  it('follows the gates through a converter to a switch trigger', () => {
    const text = voice({
      rhythm: 'gate: 130 ms',
      hit: 'xxx-x---',
      shape: 'trigger: switch, attack: 1 ms, decay: 80 ms, release: 80 ms',
      modules: ['adapt: { kind: trigger-converter }'],
      trigger: ['drums.hit -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
    });
    const [finding] = by('gates-merge', text);
    expect(finding?.jack).toEqual({ module: 'shape', jack: 'trigger' });
    expect(figure(finding, 'missedHits')).toBe(4 - risesAt(text, 'drums.hit'));
  });

  it('finds hits that a stretched pulse swallows, once, where it happens', () => {
    const stretched = (length: number) =>
      voice({
        hit: 'xx--xxx-',
        shape: 'mode: trigger, attack: 1 ms, decay: 80 ms',
        modules: [`wide: { kind: pulse, length: ${length} ms }`],
        trigger: ['drums.hit -> wide.trigger', 'wide.out -> shape.trigger'],
      });
    const [finding, ...others] = by('gates-merge', stretched(126));
    expect(others).toEqual([]);
    expect(finding?.jack?.module).toBe('shape');
    expect(figure(finding, 'missedHits')).toBe(5 - risesAt(stretched(126), 'wide.out'));
    expect(troubles(stretched(124))).toEqual([]);
    expect(risesAt(stretched(124), 'wide.out')).toBe(5);
  });

  it('finds hits of one channel under gates of another, through logic', () => {
    const two = (gate: number) =>
      voice({
        channels: '[hit, low]',
        patterns: '{ groove: { hit: "x---x---", low: "-x--x---" } }',
        rhythm: `gate: ${gate} ms`,
        modules: ['both: { kind: logic }'],
        trigger: ['drums.hit -> both.a', 'drums.low -> both.b', 'both.or -> shape.trigger'],
      });
    const [finding] = by('gates-merge', two(130));
    // Four strokes, of which two fall together and are one; the low one of step 2 is swallowed.
    expect(figure(finding, 'missedHits')).toBe(1);
    expect(risesAt(two(130), 'both.or')).toBe(2);
    expect(troubles(two(120))).toEqual([]);
    expect(risesAt(two(120), 'both.or')).toBe(3);
  });
});
