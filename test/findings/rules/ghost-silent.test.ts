// ghost-silent: ghost strokes that an accent shuts off, as the render has them.

import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import { ghostSilent } from '../../../src/findings/rules/ghost-silent.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';
import { by, figure, RATE, rendered, voice } from '../voice.ts';

/** A last amplifier behind an attenuator of 40 %, with an offset. */
const led = (offset: string, rhythm = 'gate: 8 ms', more: Parameters<typeof voice>[0] = {}) =>
  voice({
    hit: 'x--- g--- x---',
    rhythm,
    modules: [
      `touch: { kind: attenuator, level: 40 %, offset: ${offset} }`,
      'last: { kind: amplifier }',
    ],
    sound: [
      'level.out -> last.in',
      'drums.hit-accent -> touch.in',
      'touch.out -> last.control',
      'last.out -> out.left',
    ],
    ...more,
  });

/** The rms of the render in the half seconds of the plain stroke and of the ghost, 1 being full scale. */
function loudness(text: string): readonly [plain: number, ghost: number] {
  const [mix] = rendered(text, []).mix as [Float64Array];
  const rms = (from: number): number =>
    Math.sqrt(mix.subarray(from, from + RATE / 2).reduce((sum, v) => sum + v * v, 0) / (RATE / 2));
  return [rms(0), rms(RATE / 2)];
}

describe('ghost-silent', () => {
  it('tells strokes that the render does not have, and what to set so that it does', () => {
    // 40 % of -4 V, and 1.5 V: 0.1 V under 0.
    const text = led('1.5 V');
    const [finding, ...others] = by('ghost-silent', text);
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('caution');
    expect(figure(finding, 'ghosts')).toBe(1);
    const [plain, ghost] = loudness(text);
    expect(plain).toBeGreaterThan(0.0005);
    expect(ghost).toBeLessThan(plain / 100);
    const wanted = /ghost-level of drums to (\S+ V)/.exec(finding?.fix ?? '')?.[1];
    const mended = led('1.5 V', `gate: 8 ms, ghost-level: ${wanted}`);
    expect(by('ghost-silent', mended)).toEqual([]);
    const [before, after] = loudness(mended);
    close(after / before, 0.78 / 1.5, {
      abs: 0.05,
      unit: '',
      why: 'two strokes of noise, of some thousand samples each',
    });
  });

  it('finds nothing where they are heard, where there are none, and in what no stroke opens', () => {
    expect(by('ghost-silent', led('3 V'))).toEqual([]);
    expect(loudness(led('3 V'))[1]).toBeGreaterThan(0.0002);
    expect(by('ghost-silent', led('1.5 V', undefined, { hit: 'x--- x--- X---' }))).toEqual([]);
    expect(by('ghost-silent', led('0 V'))).toEqual([]);
  });

  it('looks at the patterns that are played, and at the voice of the channel', () => {
    const patterns = '{ a: { hit: "x---" }, b: { hit: "g---" } }';
    expect(by('ghost-silent', led('1.5 V', undefined, { patterns, song: '[a]' }))).toEqual([]);
    expect(by('ghost-silent', led('1.5 V', undefined, { patterns, song: '[a, b]' }))).toHaveLength(
      1,
    );
    // The ghosts are another channel's, which has no accent.
    const other = led('1.5 V', undefined, {
      channels: '[hit, tick]',
      patterns: '{ a: { hit: "x---", tick: "g---" } }',
      song: '[a]',
      cables: ['drums.tick -> more.trigger'],
    }).replace('  out:', '  more: { kind: envelope }\n  out:');
    expect(by('ghost-silent', other)).toEqual([]);
  });
});

describe('ghost strokes within the tolerances that a rack states', () => {
  it.each([
    // 40 % of it through 1 kohm into 100 kohm, and 1.5 V: 34 mV, 20 mV, and 9 mV under 0.
    ['-3.7 V', []],
    ['-3.7 V +- 1 %', []],
    ['-3.7 V +- 3 %', ['caution']],
  ])('are told where some corner shuts them: %s', (low, severities) => {
    const rack = `units:
  drums: { kind: rhythm, jacks: { hit-accent: { low: ${low}, high: 5 V } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier, count: 2 }
  touch: { kind: attenuator }
  out: { kind: output }
`;
    const patch = patchFrom(`rack: own.yaml\n${led('1.5 V')}`, { 'own.yaml': rack });
    expect(ghostSilent.find(contextOf(patch)).map(({ severity }) => severity)).toEqual(severities);
  });
});
