// amplifier-never-opens: the control volts against unity, and the gain in the render: volts out by volts
// in, at the loudest.

import { describe, expect, it } from 'vitest';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { loudest } from '../hear.ts';
import { by, figure, gain, troubles, voice } from '../voice.ts';

const turned = (level: string, more = '') =>
  voice({
    level: `response: linear${more}`,
    modules: [`down: { kind: attenuator, level: ${level} }`],
    control: ['shape.out -> down.in', 'down.out -> level.control'],
  });

describe('amplifier-never-opens', () => {
  it('finds an envelope that is upside down, and the render is silent', () => {
    const [finding] = by('amplifier-never-opens', turned('-50 %'));
    expect(finding?.severity).toBe('fault');
    expect(finding?.message).toContain('stays shut');
    expect(gain(turned('-50 %'))).toBe(0);
  });

  it('finds one that is turned down to 40 dB under the input, and not one that is just above', () => {
    const [finding] = by('amplifier-never-opens', turned('1 %'));
    close(10 ** (figure(finding, 'gainDb') / 20), gain(turned('1 %')), {
      rel: 0.01,
      unit: '',
      why: 'the highest sample lies a little under the peak itself',
    });
    expect(troubles(turned('1.1 %'))).toEqual([]);
    expect(20 * Math.log10(gain(turned('1.1 %')))).toBeGreaterThan(-40);
  });

  it('finds an exponential one under a peak that is too low', () => {
    const low = (peak: string) =>
      voice({
        level: 'response: exponential',
        shape: `decay: 80 ms, release: 80 ms, peak: ${peak}`,
      });
    const [finding] = by('amplifier-never-opens', low('2.4 V'));
    // 80 dB a unity is 10^4: a power of it, less the 1 that it is at 0 V.
    const law = (10 ** (4 * ((2.4 * 100) / 101 / 5)) - 1) / (10 ** 4 - 1);
    close(figure(finding, 'gainDb'), 20 * Math.log10(law), {
      abs: 0.0005,
      unit: 'dB',
      why: 'a closed form on both sides',
    });
    expect(20 * Math.log10(gain(low('2.4 V')))).toBeLessThan(-40);
    expect(troubles(low('2.6 V'))).toEqual([]);
    expect(20 * Math.log10(gain(low('2.6 V')))).toBeGreaterThan(-40);
  });

  it('finds an attack that never gets far enough', () => {
    const text = voice({
      level: 'response: exponential',
      shape: 'attack: 2 s, decay: 80 ms, release: 80 ms',
    });
    expect(troubles(text)).toContain('amplifier-never-opens fault');
    expect(20 * Math.log10(gain(text))).toBeLessThan(-40);
  });

  it('finds a low-pass gate whose lamp is never lit, and not one that a gate alone lights', () => {
    const struck = (control: string) => `modules:
  drums: { kind: rhythm, channels: [hit], gate: 8 ms, patterns: { groove: { hit: "x---" } }, song: [groove] }
  down:  { kind: attenuator, level: -100 % }
  tone:  { kind: oscillator, at-zero: 200 Hz }
  hand:  { kind: low-pass-gate }
  out:   { kind: output }
cables:
  - tone.triangle -> hand.in
  - hand.out      -> out.left
  - ${control}
`;
    const upsideDown = struck('drums.hit -> down.in\n  - down.out -> hand.control');
    const [finding] = by('amplifier-never-opens', upsideDown);
    expect(finding?.message).toContain('hand gets 0 V at most from down.out');
    expect(loudest(patchFrom(upsideDown), 1)).toBe(0);
    const lit = struck('drums.hit -> hand.control').replace(/\n.*down.*/, '');
    expect(troubles(lit)).toEqual([]);
    expect(loudest(patchFrom(lit), 1)).toBeGreaterThan(0.3);
  });
});
