// Words of the trade in place of a kind's name: whoever writes one is told the name.

import { expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { kindMeant } from '../../src/patch/kind.ts';
import { readPatch } from '../../src/patch/read.ts';

// Common practice, no source: what the parts of a synthesizer are called in short.
const COMMON = {
  VCA: 'amplifier',
  VCF: 'filter',
  VCO: 'oscillator',
  LFO: 'oscillator',
  ADSR: 'envelope',
  EG: 'envelope',
  mult: 'multiple',
  'S&H': 'sample-hold',
  LPG: 'low-pass-gate',
  reverb: 'reverberator',
};

it.each(Object.entries(COMMON))('%s is told to be %s', (word, kind) => {
  const text = `modules: { x: { kind: ${word} } }`;
  const [problem] = readPatch(text, { file: 'a.yaml', kinds: KINDS }).problems;
  expect(problem).toMatchObject({ code: 'unknown-kind', nearest: kind });
});

it('no word is a kind by itself, so that none is led elsewhere', () => {
  const names = KINDS.map(({ kind }) => kind);
  expect(names.flatMap((name) => kindMeant(name, KINDS) ?? [])).toEqual([]);
  const words = KINDS.flatMap(({ alsoCalled }) => alsoCalled ?? []);
  expect(words.length).toBe(new Set(words).size);
});

it('a slip of the hand is still told by its letters, and what nobody says by nothing', () => {
  const nearest = (kind: string): string | null | undefined =>
    readPatch(`modules: { x: { kind: ${kind} } }`, { file: 'a.yaml', kinds: KINDS }).problems[0]
      ?.nearest;
  expect(nearest('envelop')).toBe('envelope');
  expect(nearest('teapot')).toBeUndefined();
});
