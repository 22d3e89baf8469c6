// off-the-dial: the values of a patch against the ends of the dials that its rack has measured. The sheet,
// which looks for a position on the same dial, agrees: it prints none.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { check } from '../../../src/findings/check.ts';
import type { Finding } from '../../../src/findings/finding.ts';
import { offTheDial } from '../../../src/findings/rules/off-the-dial.ts';
import { outlineOf } from '../../../src/output/sheet/sheet.ts';
import { between } from '../../circuits/cases.ts';
import { patchFrom } from '../../patch-of.ts';
import { runs } from '../../runs.ts';
import { voice } from '../voice.ts';

const RACK = `units:
  drums: { kind: rhythm }
  shape:
    kind: envelope
    dials:
      attack: { 0: 0.5 ms, 10: 1 s }
      decay: { 0: 10 ms, 10: 2 s }
      sustain: { 0: 10 %, 10: 90 % }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
`;

const read = (shape: string) =>
  patchFrom(`rack: own.yaml\n${voice({ shape })}`, { 'own.yaml': RACK });

const found = (shape: string): readonly Finding[] =>
  check(read(shape)).filter(({ rule }) => rule === offTheDial.name);

describe('off-the-dial', () => {
  it('tells a value beyond the end, at its place, with the end and its position', () => {
    const [finding, ...others] = found('decay: 3 s');
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('caution');
    expect(finding?.message).toMatch(
      /decay of shape goes from 10 ms to 2 s \(own\.yaml:3\), and 3 s/,
    );
    expect(finding?.fix).toContain('Set decay of shape to 2 s (dial 10)');
    expect(finding?.figures).toMatchObject({ setting: 'decay', wantedSeconds: 3, endSeconds: 2 });
    const line = voice({ shape: 'decay: 3 s' })
      .split('\n')
      .findIndex((one) => one.includes('3 s'));
    // The line that names the rack comes before.
    expect(finding?.place).toMatchObject({ file: 'test.yaml', line: line + 2 });
  });

  it('is right: the sheet has no position for it', () => {
    const settings = outlineOf(read('decay: 3 s, sustain: 50 %')).settings;
    const dialOf = (setting: string) =>
      settings.find(({ name }) => name === 'shape')?.settings.find(({ name }) => name === setting)
        ?.dial;
    expect(dialOf('decay')).toBe('beyond the dial');
    expect(dialOf('sustain')).toBe('dial 5');
  });

  it('passes over what the file does not ask for, and the ends themselves', () => {
    // Unless it is set, sustain is 0 %.
    expect(found('decay: 2 s')).toEqual([]);
    expect(found('attack: 0.5 ms, decay: 10 ms, sustain: 90 %')).toEqual([]);
  });

  it('begins 5 % beyond, or of a linear dial at 5 % of all it covers; of times under 20 ms at 1 ms', () => {
    const limits: readonly (readonly [string, (v: number) => string, number, -1 | 1])[] = [
      // 2 s are 95 % of 2.105 s.
      ['decay', (v) => `decay: ${v} s`, 2 / 0.95, 1],
      ['decay', (v) => `decay: ${v} s`, 0.009, -1],
      ['sustain', (v) => `sustain: ${v} %`, 94, 1],
      ['sustain', (v) => `sustain: ${v} %`, 6, -1],
    ];
    fc.assert(
      fc.property(
        fc.constantFrom(...limits),
        between(0.001, 0.05),
        ([, text, limit, way], share) => {
          const off = way * share * limit;
          expect(found(text(Number((limit - off).toFixed(6))))).toEqual([]);
          expect(found(text(Number((limit + off).toFixed(6))))).toHaveLength(1);
        },
      ),
      runs(30),
    );
    // Below half a millisecond there is nothing to hear.
    expect(found('attack: 0 ms')).toEqual([]);
  });
});
