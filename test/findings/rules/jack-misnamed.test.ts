// jack-misnamed: facts of a rack about a misspelt channel, reported at their line; the names of other patches'
// channels, which a rack may have, are ignored.

import { describe, expect, it } from 'vitest';
import { check } from '../../../src/findings/check.ts';
import { patchFrom } from '../../patch-of.ts';
import { voice } from '../voice.ts';

const rackWith = (jacks: string, walk = '{ kind: step-sequencer }'): string => `units:
  unit:
    kind: rhythm
    jacks:
      ${jacks}
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
  walk: ${walk}
  tone: { kind: oscillator }
`;

const found = (rack: string, text = voice()) =>
  check(patchFrom(`rack: own.yaml\n${text}`, { 'own.yaml': rack })).filter(
    ({ rule }) => rule === 'jack-misnamed',
  );

describe('jack-misnamed', () => {
  it.each([
    ['hitt', 'hit'],
    ['hti', 'hit'],
    ['HIT', 'hit'],
    ['hit-acent', 'hit-accent'],
  ])('tells %s with the nearest name, at its line', (said, meant) => {
    // The list has one finding, for the accent output too.
    const [finding, ...others] = found(rackWith(`${said}: { high: 3.3 V }`));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('caution');
    expect(finding?.figures).toEqual({ named: said, nearest: meant });
    expect(finding?.fix).toContain(`Write ${meant} in the rack`);
    expect(finding?.message).toContain(`the high of unit.${said}`);
    expect(finding?.place).toMatchObject({ file: 'own.yaml', line: 5, column: 7 });
    expect(finding?.jack).toEqual({ module: 'drums', jack: meant });
  });

  it('is right: written so, the level is that of the jack', () => {
    const rack = (name: string) => rackWith(`${name}: { high: 2 V }`);
    const rules = (text: string) =>
      check(patchFrom(`rack: own.yaml\n${voice()}`, { 'own.yaml': text })).map(({ rule }) => rule);
    expect(rules(rack('hitt'))).not.toContain('level-too-low');
    expect(rules(rack('hit'))).toContain('level-too-low');
  });

  it('tells a row of a sequencer, too', () => {
    const text = voice({
      modules: [
        'walk: { kind: step-sequencer, rows: { pitch: [C2, D2] } }',
        'tone: { kind: oscillator }',
      ],
      cables: ['drums.clock -> walk.clock', 'walk.pitch -> tone.pitch', 'tone.sine -> out.right'],
    });
    const walk = '{ kind: step-sequencer, jacks: { pich: { resistance: 2 kohm } } }';
    const [finding] = found(rackWith('hit: { high: 5 V }', walk), text);
    expect(finding?.figures).toEqual({ named: 'pich', nearest: 'pitch' });
    expect(finding?.place.line).toBe(10);
  });

  it.each([
    ['the right name', 'hit: { high: 3.3 V }', voice()],
    ['a channel of another patch', 'snare: { high: 3.3 V }', voice()],
    [
      'a name for one that is said already',
      'hit: { high: 5 V }\n      hitt: { high: 3.3 V }',
      voice(),
    ],
    ['another number', 'tom-2: { high: 3.3 V }', voice().replaceAll(/\bhit\b/g, 'tom-1')],
    ['all outputs', 'outputs: { high: 3.3 V }', voice()],
  ])('says nothing of %s', (_, jacks, text) => {
    expect(found(rackWith(jacks), text)).toEqual([]);
  });
});
