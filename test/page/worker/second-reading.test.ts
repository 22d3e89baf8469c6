// A setting's value in another form, and suggestions for a number without its unit.

import { describe, expect, it } from 'vitest';
import { KINDS } from '../../../src/modules/kinds.ts';
import type { Control } from '../../../src/page/protocol.ts';
import { offered } from '../../../src/page/worker/offer.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import { movedReading, rowReading } from '../../../src/page/worker/second-reading.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { parseSetting } from '../../../src/patch/settings.ts';

function patchOf(settings: string, cable: string): Patch {
  const text = `modules:
  one: ${settings}
  sway: { kind: oscillator, at-zero: 1 Hz }
  out: { kind: output }
cables: [${cable}one.out -> out.left]
`;
  const { patch, problems } = readFiles({ main: 'a.yaml', set: [], texts: { 'a.yaml': text } });
  expect(problems).toEqual([]);
  return patch as Patch;
}

function reading(settings: string, setting: string, cable = ''): string | undefined {
  const patch = patchOf(settings, cable);
  const module = patch.modules.find(({ name }) => name === 'one');
  if (module === undefined) throw new Error('it is not there');
  const spec = module.definition.settings[setting];
  if (spec === undefined || !('max' in spec) || spec.type === 'row')
    throw new Error('it is no number');
  return movedReading(module.settings[setting] as number, spec, module, patch).reading;
}

describe('a second reading', () => {
  const PITCH = {
    type: 'row',
    unit: 'pitch',
    shortest: 1,
    longest: 16,
    min: -5,
    max: 10,
    fallback: [0],
    about: '',
  } as const;

  it('gives the volts of notes and the note of volts: 1 V an octave, 0 V at C2', () => {
    // Equal temperament: a semitone is 1/12 V, 0.3 V are 3.6 of them.
    expect(rowReading([0, 3 / 12, 7 / 12, 1, -1, 0.3], PITCH).reading).toBe(
      'C2 0 V, Eb2 0.25 V, G2 0.5833 V, C3 1 V, C1 -1 V, E2 −40 cents 0.3 V',
    );
    expect(rowReading([0.5], { ...PITCH, unit: 'number' })).toEqual({});
  });

  it('says where a volt moves a pitch, a filter and a time, if a cable brings one', () => {
    const pitched = 'sway.sine -> one.pitch, ';
    // A4 is 440 Hz by ISO 16; an octave is a factor of two.
    expect(reading('{ kind: resonator, at-zero: 440 Hz }', 'at-zero', pitched)).toBe(
      'A4; 880 Hz with 1 V at pitch',
    );
    expect(reading('{ kind: resonator, at-zero: 440 Hz }', 'at-zero')).toBe(undefined);
    expect(reading('{ kind: delay-line, time: 8 ms }', 'time', pitched)).toBe(
      '4 ms with 1 V at pitch',
    );
    const swept = 'sway.sine -> one.decay, ';
    // Half an octave is a factor of the square root of two.
    expect(reading('{ kind: resonator, decay: 100 ms, decay-amount: 50 % }', 'decay', swept)).toBe(
      '141.4 ms with 1 V at decay',
    );
    expect(reading('{ kind: resonator, decay-amount: 0 % }', 'decay', swept)).toBe(undefined);
  });

  it('names an input and an amount that the kind has', () => {
    let count = 0;
    for (const { kind, settings, jacks } of KINDS)
      for (const [name, spec] of Object.entries(settings)) {
        if (!('moved' in spec) || spec.moved === undefined) continue;
        count += 1;
        const usual = Object.fromEntries(
          Object.entries(settings).map(([key, one]) => [
            key,
            'fallback' in one ? one.fallback : [],
          ]),
        );
        const { jack, amount } = spec.moved;
        const inputs = jacks(usual as never).filter(({ direction }) => direction === 'in');
        expect(
          inputs.map((one) => one.name),
          `${kind} ${name}`,
        ).toContain(jack);
        if (amount !== undefined) expect(settings[amount]?.type, kind).toBe('percent');
      }
    expect(count).toBeGreaterThan(6);
  });
});

describe('what is offered for what lacks its unit', () => {
  const gate: Control = { type: 'text', expected: '', sort: 'span' };
  const clock: Control = { type: 'text', expected: '', sort: 'rate' };
  const pitches: Control = { type: 'text', expected: '', sort: 'pitches' };

  it.each<readonly [string, Control, readonly string[]]>([
    ['80', gate, ['80 ms', '80 %']],
    ['5000', gate, ['5000 ms']],
    ['x', gate, []],
    ['2', clock, ['2 per quarter', '2 per step']],
    ['97', clock, []],
    ['0', clock, []],
    ['[c2, 0.5, Eb2]', pitches, ['[C2, 0.5 V, Eb2]']],
    ['1, 2', pitches, ['[1 V, 2 V]']],
    ['[C2, 0.3 V]', pitches, []],
    ['x', { type: 'choice', options: ['x'] }, []],
  ])('%s', (typed, control, offers) => {
    expect(offered(typed, control)).toEqual(offers);
  });

  it('can be taken as it is', () => {
    const span = { type: 'span', fallback: { unit: 'seconds', value: 1 }, about: '' } as const;
    for (const typed of ['80', '0.5', '1', '1000'])
      for (const one of offered(typed, gate))
        expect(parseSetting(one, span, 'gate').fault, one).toBe(undefined);
  });

  it('is refused with the range of both', () => {
    const span = { type: 'span', fallback: { unit: 'seconds', value: 1 }, about: '' } as const;
    expect(parseSetting('80', span, 'gate').fault?.expected).toMatch(
      /from 10 us to 60 s.*from 1 % to 1000 %/,
    );
  });
});
