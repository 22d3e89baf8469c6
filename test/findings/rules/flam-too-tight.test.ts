// flam-too-tight: strokes that run together, counted in the render's samples.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { by, figure, followedVoice, rendered, rises, troubles, voice } from '../voice.ts';

function risesAt(text: string, jack: string): number {
  return rises(rendered(text, [jack]).volts[0] as Float64Array).length;
}

describe('flam-too-tight', () => {
  it('finds a flam under a gate that is as long', () => {
    const flam = (time: number) =>
      voice({ rhythm: `gate: 8 ms, flam: ${time} ms`, hit: 'x---f---f---' });
    const [finding] = by('flam-too-tight', flam(8));
    expect(finding?.severity).toBe('caution');
    expect(figure(finding, 'missedHits')).toBe(2);
    expect(risesAt(flam(8), 'shape.trigger')).toBe(3);
    // Nine leave a millisecond of low.
    expect(troubles(flam(9))).toEqual([]);
    expect(risesAt(flam(9), 'shape.trigger')).toBe(5);
  });

  it('finds the same where the rhythm follows pulses', () => {
    const flam = (time: number) =>
      voice({
        rhythm: `gate: 8 ms, flam: ${time} ms`,
        hit: 'x---f---f-4-',
        modules: ['beat: { kind: clock, rate: 8 Hz }'],
        cables: ['beat.out -> drums.clock-in'],
      });
    const [finding] = by('flam-too-tight', flam(8));
    expect(figure(finding, 'missedHits')).toBe(2);
    expect(risesAt(flam(8), 'shape.trigger')).toBe(7);
    // The pulses come to the sample, so nine leave a millisecond of low here too.
    expect(by('flam-too-tight', flam(9))).toEqual([]);
    expect(risesAt(flam(9), 'shape.trigger')).toBe(9);
  });

  it('judges the flam of a rhythm that follows pulses by their tempo, not by its own', () => {
    // Closed form: a step lasts 60 s / tempo / 4, which is 50 ms at 300 bpm and 125 ms at 120 bpm.
    const led = (bpm: number, own: number, flam: number): string =>
      followedVoice(
        `tempo: ${own} bpm, follows: 4 per quarter, gate: 8 ms, flam: ${flam} ms`,
        'x---f---',
        { hit: 'x---x---', rhythm: 'gate: 8 ms, clock: 4 per quarter' },
      ).replace('tempo: 120 bpm', `tempo: ${bpm} bpm`);
    expect(by('flam-too-tight', led(120, 300, 60))).toEqual([]);
    expect(by('flam-too-tight', led(300, 120, 49))).toEqual([]);
    const [finding, ...others] = by('flam-too-tight', led(300, 120, 51));
    expect(others).toEqual([]);
    expect(finding?.jack).toEqual({ module: 'hats', jack: 'clock-in' });
    close(figure(finding, 'stepSeconds'), 0.05, {
      abs: 5e-5,
      unit: 's',
      why: 'pulses lie on samples, 21 us apart',
    });
    // Without the plug its own tempo counts.
    const unled = led(120, 300, 60).replace(
      'drums.clock -> hats.clock-in',
      'drums.clock -> snap.cut',
    );
    expect(() => by('flam-too-tight', unled)).toThrow(
      'a flam of 60 ms does not fit into a step of 50 ms',
    );
  });

  it('finds a ratchet whose strokes are closer than the gate is long', () => {
    // Four strokes in 125 ms are 31.25 ms apart.
    const roll = (gate: number) => voice({ rhythm: `gate: ${gate} ms`, hit: '4---x---' });
    const [finding] = by('flam-too-tight', roll(32));
    expect(figure(finding, 'missedHits')).toBe(5 - risesAt(roll(32), 'shape.trigger'));
    close(figure(finding, 'gapSeconds'), 0.03125, { abs: 5e-10, unit: 's', why: 'rounding' });
    expect(troubles(roll(31))).toEqual([]);
    expect(risesAt(roll(31), 'shape.trigger')).toBe(5);
  });

  it('finds an attack that is longer than the flam', () => {
    const slow = (attack: number) =>
      voice({
        rhythm: 'gate: 8 ms, flam: 22 ms',
        hit: '--f-----',
        shape: `mode: trigger, attack: ${attack} ms, decay: 80 ms`,
      });
    const peaks = (text: string): number => {
      const out = rendered(text, ['shape.out']).volts[0] as Float64Array;
      let count = 0;
      for (let i = 1; i + 1 < out.length; i++)
        if (
          (out[i] as number) > (out[i - 1] as number) &&
          (out[i] as number) >= (out[i + 1] as number)
        )
          count++;
      return count;
    };
    expect(by('flam-too-tight', slow(30)).map(({ severity }) => severity)).toEqual(['caution']);
    expect(peaks(slow(30))).toBe(1);
    expect(by('flam-too-tight', slow(20))).toEqual([]);
    expect(peaks(slow(20))).toBe(2);
  });

  it('says where a flam may be too tight by what the rack states of the width', () => {
    const files = (width: string) => ({
      'own.yaml': `units:
  drums: { kind: rhythm, jacks: { hit: { width: ${width} } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
`,
    });
    const text = `rack: own.yaml\n${voice({ rhythm: 'flam: 22 ms', hit: '--f-----' })}`;
    expect(by('flam-too-tight', text, files('20 ms +- 1.5 ms'))).toEqual([]);
    const [finding, ...others] = by('flam-too-tight', text, files('20 ms +- 2.5 ms'));
    expect(others).toEqual([]);
    expect(finding?.message).toContain('may still be high 22 ms after');
    expect(by('flam-too-tight', text, files('22.5 ms'))[0]?.message).toContain('is still high');
  });
});
