// pulse-too-short: the pulse against the shortest one that the input notices (1 ms, src/modules/facts.ts).

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, followedVoice, highest, rendered, rises, troubles, voice } from '../voice.ts';

describe('pulse-too-short', () => {
  it('finds a gate of 0.9 ms on an envelope, and the envelope stays down in the render', () => {
    const text = voice({ rhythm: 'gate: 0.9 ms' });
    const [finding] = by('pulse-too-short', text);
    expect(finding?.severity).toBe('fault');
    expect(finding?.message).toContain('never fires');
    expect(figure(finding, 'missedPulses')).toBe(2);
    const { volts } = rendered(text, ['drums.hit', 'shape.out']);
    expect(rises(volts[0] as Float64Array)).toHaveLength(2);
    expect(highest(volts[1] as Float64Array)).toBe(0);
  });

  it('finds nothing at 1 ms, and the envelope rises at each hit', () => {
    const text = voice({
      rhythm: 'gate: 1 ms',
      shape: 'attack: 0 s, decay: 80 ms, release: 80 ms',
    });
    expect(troubles(text)).toEqual([]);
    const { volts } = rendered(text, ['shape.out']);
    expect(rises(volts[0] as Float64Array, 1)).toHaveLength(2);
  });

  it('cautions of a gate that lasts in samples alone, at which the render fires and a circuit does not', () => {
    // 0.99 ms and 1 ms are 47.52 and 48 samples.
    const text = voice({ rhythm: 'gate: 0.99 ms', shape: 'attack: 0 s, decay: 80 ms' });
    const [finding, ...others] = by('pulse-too-short', text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('caution');
    expect(finding?.message).toContain('gives pulses of 0.99 ms');
    close(figure(finding, 'widthSeconds'), 0.00099, {
      abs: 2e-8,
      unit: 's',
      why: 'edges are worked out to 20 ns',
    });
    expect(rises(rendered(text, ['shape.out']).volts[0] as Float64Array, 1)).toHaveLength(2);
  });

  it('counts those that are missed where one step has a gate of its own', () => {
    const text = voice({
      patterns: '{ groove: { hit: { steps: "x-x-x-x-", at: { 3: { gate: 0.5 ms } } } } }',
    });
    const [finding] = by('pulse-too-short', text);
    const { volts } = rendered(text, ['drums.hit', 'shape.out']);
    const missed = rises(volts[0] as Float64Array).length - rises(volts[1] as Float64Array).length;
    expect(missed).toBe(1);
    expect(figure(finding, 'missedPulses')).toBe(missed);
    expect(figure(finding, 'pulses')).toBe(4);
    close(figure(finding, 'widthSeconds'), 0.0005, { abs: 5e-10, unit: 's', why: 'rounding' });
  });

  it('follows the gate through a converter, and through a pulse that is short itself', () => {
    const adapted = voice({
      rhythm: 'gate: 0.5 ms',
      shape: 'trigger: switch, attack: 1 ms, decay: 80 ms, release: 80 ms',
      modules: ['adapt: { kind: trigger-converter }'],
      trigger: ['drums.hit -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
    });
    expect(troubles(adapted)).toEqual(['pulse-too-short fault']);
    const shortened = voice({
      modules: ['short: { kind: pulse, length: 0.8 ms }'],
      trigger: ['drums.hit -> short.trigger', 'short.out -> shape.trigger'],
    });
    expect(troubles(shortened)).toEqual(['pulse-too-short fault']);
    for (const text of [adapted, shortened])
      expect(highest(rendered(text, ['shape.out']).volts[0] as Float64Array)).toBe(0);
  });

  it('hears short pulses that only the signal tells, such as those of a clock', () => {
    // 100 Hz with 5 % duty: 0.5 ms.
    const text = voice({
      modules: ['tick: { kind: clock, rate: 100 Hz, duty: 5 % }'],
      trigger: ['tick.out -> shape.trigger'],
      cables: ['drums.hit -> out.right'],
    });
    const [finding] = by('pulse-too-short', text);
    close(figure(finding, 'widthSeconds'), 0.0005, { abs: 5e-10, unit: 's', why: 'rounding' });
    expect(highest(rendered(text, ['shape.out']).volts[0] as Float64Array)).toBe(0);
  });
});

describe('pulse-too-short at and after a rhythm that follows pulses', () => {
  const hats = (duty: string, gate: string): string =>
    followedVoice(`tempo: 120 bpm, follows: 24 per quarter, gate: ${gate}`, 'x-x-x-x-', {
      modules: [`tick: { kind: clock, rate: 48 Hz, duty: ${duty} }`],
      cables: ['tick.out -> hats.clock-in'],
    });
  const heard = (text: string) => {
    const { volts } = rendered(text, ['hats.tick', 'snap.out'], 2);
    return [rises(volts[0] as Float64Array).length, highest(volts[1] as Float64Array)];
  };

  it('finds pulses that clock-in does not notice, at which the rhythm stands', () => {
    // 4 % of 1/48 s are 0.833 ms, 6 % are 1.25 ms; 1 ms is noticed.
    const [finding, ...others] = by('pulse-too-short', hats('4 %', '8 ms'));
    expect(others).toEqual([]);
    expect(finding?.jack).toEqual({ module: 'hats', jack: 'clock-in' });
    expect(finding?.message).toContain('it never fires');
    close(figure(finding, 'widthSeconds'), 0.000833, {
      abs: 5e-6,
      unit: 's',
      why: '4 % of a sixth of an eighth, worked to the microsecond',
    });
    expect(heard(hats('4 %', '8 ms'))).toEqual([0, 0]);
    expect(by('pulse-too-short', hats('6 %', '8 ms'))).toEqual([]);
    expect(heard(hats('6 %', '8 ms'))[0]).toBe(8);
  });

  it('finds gates of its own that are too short for what they start', () => {
    const [finding, ...others] = by('pulse-too-short', hats('50 %', '0.6 ms'));
    expect(others).toEqual([]);
    expect(finding?.jack).toEqual({ module: 'snap', jack: 'trigger' });
    close(figure(finding, 'widthSeconds'), 0.0006, {
      abs: 5e-5,
      unit: 's',
      why: 'edges lie on samples',
    });
    expect(heard(hats('50 %', '0.6 ms'))).toEqual([8, 0]);
  });
});
