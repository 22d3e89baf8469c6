// dc-on-output: the mean of the output, which is also taken from the render.

import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import { dcOnOutput } from '../../../src/findings/rules/dc-on-output.ts';
import { close } from '../../close.ts';
import { onRack } from '../../electrical/measured.ts';
import { by, figure, rendered, troubles, voice } from '../voice.ts';

const shifted = (offset: string) =>
  voice({
    modules: [`shift: { kind: attenuator, level: 50 %, offset: ${offset} }`],
    sound: ['level.out -> shift.in', 'shift.out -> out.left'],
  });

function mean(text: string): number {
  const left = rendered(text, []).mix[0] as Float64Array;
  return (10 * left.reduce((sum, sample) => sum + sample, 0)) / left.length;
}

describe('dc-on-output', () => {
  it('finds the offset of an attenuator in front of the output', () => {
    const [finding] = by('dc-on-output', shifted('1 V'));
    expect(finding?.severity).toBe('caution');
    close(figure(finding, 'meanVolts'), mean(shifted('1 V')), {
      abs: 5e-7,
      unit: 'V',
      why: 'rounding: the mean of the same samples',
    });
    // 1 V behind 1 kohm into 100 kohm, and noise whose mean is nearly 0.
    close(figure(finding, 'meanVolts'), 100 / 101, {
      abs: 0.005,
      unit: 'V',
      why: 'the mean of the noise beside it is nearly 0',
    });
    expect(by('dc-on-output', shifted('-1 V'))).toHaveLength(1);
  });

  it('finds nothing under 0.1 V', () => {
    expect(troubles(shifted('0.09 V'))).toEqual([]);
    expect(mean(shifted('0.09 V'))).toBeGreaterThan(0.08);
  });

  it('does not take the wandering of red noise for it', () => {
    const text = voice({
      modules: ['slow: { kind: noise, level: 1 V }'],
      cables: ['slow.red -> out.right'],
    });
    expect(troubles(text)).toEqual([]);
    for (let i = 0; i < 12; i++)
      expect(by('dc-on-output', text.replace('seed: test', `seed: test ${i}`))).toEqual([]);
  });
});

describe('steady volts within the tolerances that a rack states', () => {
  it.each([
    // Of a wave known by both levels, half of their sum; 0.1 V are told.
    ['high: 5 V +- 3 %, low: -5 V', 0.075],
    ['high: 5 V +- 5 %, low: -5 V', 0.125],
    ['high: 5 V +- 3 %, low: -5 V +- 3 %', 0.15],
    ['high: 5 V +- 2 %, low: -4.9 V +- 2 %', 0.149],
    ['high: 5 V +- 1 %, low: -4.95 V +- 1 %', 0.075],
    // By its high level alone it keeps its middle.
    ['high: 5 V +- 20 %', 0],
  ])('are those of half the sum of both levels: %s', (levels, most) => {
    for (const turned of ['', 'turn: { kind: attenuator, level: -100 % }']) {
      const patch = onRack(
        `  tone: { kind: oscillator, at-zero: 400 Hz }
  drums: { kind: rhythm, channels: [hit], patterns: { a: { hit: "x---------------" } }, song: [a] }
  out: { kind: output }
${turned === '' ? '' : `  ${turned}\n`}`,
        turned === '' ? 'tone.sine -> out.left' : 'tone.sine -> turn.in, turn.out -> out.left',
        `  tone: { kind: oscillator, jacks: { sine: { ${levels} } } }
  drums: { kind: rhythm }
  turn: { kind: attenuator }
  out: { kind: output }`,
      );
      // 1 kohm into 100 kohm at one wire, or two.
      const left = most * (100 / 101) ** (turned === '' ? 1 : 2);
      expect(dcOnOutput.find(contextOf(patch)).length > 0).toBe(left > 0.1);
    }
  });
});
