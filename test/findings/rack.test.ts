// Modules that the rack has too few of, and what would free one: worked out by hand for each cabinet.

import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import type { Finding } from '../../src/findings/finding.ts';
import { mended } from '../../src/findings/mend/mending.ts';
import { patchFrom, shipped } from '../patch-of.ts';

/** Two voices with switch-triggered envelopes, each behind a converter. */
const VOICES = (first: string, second: string): string => `rack: own.yaml
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat, tom], gate: 20 ms, patterns: { a: { hat: "${first}", tom: "${second}" } } }
  one: { kind: trigger-converter }
  two: { kind: trigger-converter }
  shape: { kind: envelope, trigger: switch, decay: 20 ms, release: 20 ms }
  other: { kind: envelope, trigger: switch, decay: 30 ms, release: 30 ms }
  hiss: { kind: noise }
  level: { kind: amplifier }
  second: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat -> one.voltage-in
  - drums.tom -> two.voltage-in
  - one.switch-out -> shape.trigger
  - two.switch-out -> other.trigger
  - shape.out -> level.control
  - other.out -> second.control
  - hiss.white -> level.in
  - hiss.pink -> second.in
  - level.out -> out.left
  - second.out -> out.right
`;

const RACK = (converters: number, more = ''): string => `cables: 10
units:
  drums: { kind: rhythm }
  adapt: { kind: trigger-converter, count: ${converters} }
  old: { kind: envelope, count: 2, fixed: { trigger: switch } }
${more}
  hiss: { kind: noise }
  level: { kind: amplifier, count: 2 }
  out: { kind: output }
`;

function short(patch: string, rack: string): readonly Finding[] {
  return check(patchFrom(patch, { 'own.yaml': rack })).filter(({ rule }) =>
    rule.endsWith('-short'),
  );
}

describe('rack-short by how many a unit has', () => {
  it('says what is asked for, how many there are, and where it is asked', () => {
    const patch = `rack: own.yaml
modules:
  tick: { kind: clock }
  walk: { kind: step-sequencer, rows: { pitch: [C2, D2], bright: [1 V], wide: [2 V] } }
  tone: { kind: oscillator }
  out: { kind: output }
cables: [tick.out -> walk.clock, walk.pitch -> tone.pitch, tone.saw -> out.left]
`;
    const rack = `units:
  tick: { kind: clock }
  walker: { kind: step-sequencer, has: { rows: 2, steps: 16 } }
  tone: { kind: oscillator }
  out: { kind: output }
`;
    const [finding, ...others] = short(patch, rack);
    expect(others).toEqual([]);
    expect(finding?.message).toContain('walk asks for 3 rows, and walker has 2');
    expect(finding?.place).toMatchObject({ line: 4, column: 33 });
    expect(short(patch, rack.replace('rows: 2', 'rows: 3'))).toEqual([]);
  });
});

describe('rack-short', () => {
  const apart = VOICES('x---', '--x-');

  it('is not found with just enough', () => {
    expect(short(apart, RACK(2))).toEqual([]);
  });

  it('says what is missing and how many there are', () => {
    const [finding, ...others] = short(apart, RACK(1));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('fault');
    expect(finding?.figures).toEqual({
      kind: 'trigger-converter',
      neededModules: 2,
      ownedModules: 1,
      shortModules: 1,
    });
    expect(finding?.message).toContain('none for two');
  });

  it('proposes an envelope that takes voltage triggers, which frees a converter', () => {
    const [finding] = short(
      apart,
      RACK(1, '  new: { kind: envelope, fixed: { trigger: voltage } }'),
    );
    expect(finding?.fix).toContain('Play shape on new, which takes voltage triggers');
    expect(finding?.fix).toContain('one is free');
  });

  it('has nothing left to say once that is done', () => {
    const freed = apart
      .replace('  one: { kind: trigger-converter }\n', '')
      .replace(
        'shape: { kind: envelope, trigger: switch,',
        'shape: { kind: envelope, trigger: voltage,',
      )
      .replace('  - drums.hat -> one.voltage-in\n', '  - drums.hat -> shape.trigger\n')
      .replace('  - one.switch-out -> shape.trigger\n', '');
    expect(short(freed, RACK(1, '  new: { kind: envelope, fixed: { trigger: voltage } }'))).toEqual(
      [],
    );
  });

  it('proposes to share where two inputs always fire together', () => {
    const rack = RACK(1, '  split: { kind: multiple }');
    const [finding] = short(VOICES('x-x-', 'x-x-'), rack);
    expect(finding?.fix).toContain('for one and two, which always do the same');
    const [other] = short(VOICES('x-x-', 'x--x'), rack);
    expect(other?.fix).not.toContain('always do the same');
  });

  it('says why no unit can be the module', () => {
    const patch = apart.replace('trigger: switch, decay: 20 ms', 'trigger: voltage, decay: 20 ms');
    const [finding] = short(patch, RACK(2));
    expect(finding?.message).toContain('old is fixed at trigger switch');
  });

  it('says that a kind is not there at all', () => {
    const [finding] = short(apart, RACK(2).replace('  hiss: { kind: noise }\n', ''));
    expect(finding?.message).toContain('the rack has no noise');
  });

  it('counts the plugs of a multiple against its jacks', () => {
    const patch = apart
      .replace('  out: ', '  split: { kind: multiple, jacks: 16 }\n  out: ')
      .replace('hiss.white -> level.in', 'hiss.white -> split.in\n  - split.out-1 -> level.in')
      .replace('hiss.pink -> second.in', 'split.out-2 -> second.in');
    const rack = (jacks: number): string =>
      `${RACK(2).replace('cables: 10', 'cables: 11')}  split: { kind: multiple, fixed: { jacks: ${jacks} } }\n`;
    expect(short(patch, rack(3))).toEqual([]);
    const more = patch.replace(
      'split.out-2 -> second.in',
      'split.out-2 -> second.in\n  - split.out-3 -> one.switch-in',
    );
    const [finding] = short(more, rack(3).replace('cables: 11', 'cables: 12'));
    expect(finding?.message).toContain('it has 4 plugs, and the largest has 3 jacks');
  });

  describe('of converters that go one way', () => {
    const rack = (down: number, up: number, both = 0): string =>
      RACK(1).replace(
        '  adapt: { kind: trigger-converter, count: 1 }\n',
        [
          ['down', 'fixed: { way: voltage-to-switch }', down] as const,
          ['up', 'fixed: { way: switch-to-voltage }', up] as const,
          ['either', 'fixed: {}', both] as const,
        ]
          .filter(([, , count]) => count > 0)
          .map(
            ([name, of, count]) =>
              `  ${name}: { kind: trigger-converter, ${of}, count: ${count} }\n`,
          )
          .join(''),
      );

    it('counts those that go the way that the patch goes', () => {
      expect(short(apart, rack(2, 0))).toEqual([]);
      expect(short(apart, rack(1, 0, 1))).toEqual([]);
      const [none] = short(apart, rack(0, 3));
      expect(none?.message).toContain(
        'no trigger-converter of the rack can be one and two (up has no voltage-in and switch-out)',
      );
      const [one, ...others] = short(apart, rack(1, 3));
      expect(others).toEqual([]);
      expect(one?.message).toBe(
        'the rack has 4 of the kind trigger-converter, of which 1 can be two, and it is taken by one: there is none for two.',
      );
    });

    it('keeps those that go both ways for what goes both', () => {
      // A gate that is made a switch and a voltage again, through the two ways of one converter.
      const round = apart
        .replace('one.switch-out -> shape.trigger', 'one.switch-out -> one.switch-in')
        .replace('drums.tom', 'one.voltage-out');
      for (const names of ['one', 'zero'])
        expect(short(round.replace(/\bone\b/g, names), rack(1, 1, 1))).toEqual([]);
      expect(short(round, rack(5, 5))[0]?.message).toContain('can be one');
    });

    it('does not propose to free one of the other way', () => {
      const three = apart
        .replace(
          '  hiss:',
          '  three: { kind: trigger-converter }\n  extra: { kind: attenuator }\n  hiss:',
        )
        .replace('cables:\n', 'cables:\n  - three.voltage-out -> extra.in\n');
      const fix = (own: string): string | undefined =>
        short(
          three,
          `${own.replace('cables: 10', 'cables: 12')}  trim: { kind: attenuator }\n  new: { kind: envelope, fixed: { trigger: voltage } }\n`,
        ).find(({ figures }) => figures.kind === 'trigger-converter')?.fix;
      expect(fix(rack(2, 0))).not.toContain('Play shape on new');
      expect(fix(rack(0, 0, 2))).toContain('Play shape on new');
    });

    it('is why a fault is mended or not', () => {
      // The gate goes straight into the switch trigger: a converter of the right way mends it.
      const straight = apart
        .replace('  one: { kind: trigger-converter }\n', '')
        .replace('  - drums.hat -> one.voltage-in\n', '')
        .replace('one.switch-out', 'drums.hat');
      const left = (own: string): readonly string[] => {
        const patch = patchFrom(straight, { 'own.yaml': own });
        const texts = {
          main: 'test.yaml',
          set: [],
          texts: { 'test.yaml': straight, 'own.yaml': own },
        };
        // That a patch so small is quiet is nobody's fault.
        const left = mended(patch, texts).left.filter(({ severity }) => severity !== 'note');
        return left.map(({ rule }) => rule);
      };
      expect(left(rack(2, 0))).toEqual([]);
      expect(left(rack(1, 1, 1))).toEqual([]);
      expect(left(rack(1, 2))).toEqual(['voltage-into-switch']);
    });

    it('says at the cable which jack a named unit has not', () => {
      const named = apart.replace(
        'one: { kind: trigger-converter }',
        'one: { kind: trigger-converter, unit: up }',
      );
      expect(() => short(named, rack(2, 1))).toThrow('the unit "up" has no jack "voltage-in"');
    });
  });

  it('names a unit that is claimed more often than it is there', () => {
    const patch = apart
      .replace('{ kind: trigger-converter }', '{ kind: trigger-converter, unit: adapt }')
      .replace('two: { kind: trigger-converter }', 'two: { kind: trigger-converter, unit: adapt }');
    const [finding, ...others] = short(patch, RACK(1));
    expect(others).toEqual([]);
    expect(finding?.message).toContain('one and two are all said to be adapt, and there is one');
  });
});

describe('cable-short', () => {
  it('is found with one too few, and not with just enough', () => {
    expect(short(VOICES('x', '-'), RACK(2))).toEqual([]);
    const [finding, ...others] = short(
      VOICES('x', '-'),
      RACK(2).replace('cables: 10', 'cables: 9'),
    );
    expect(others).toEqual([]);
    expect(finding?.figures).toEqual({ neededCables: 10, ownedCables: 9, shortCables: 1 });
    expect(finding?.place.line).toBe(22);
  });

  it('is not counted where the rack does not say how many there are', () => {
    expect(short(VOICES('x', '-'), RACK(2).replace('cables: 10\n', ''))).toEqual([]);
  });
});

describe('the shipped kit on the shipped cabinet', () => {
  it('fits, works, and leaves nothing to say', () => {
    const text = shipped('two-bar-kit.yaml').replace(
      'parts:',
      'rack: racks/teaching-cabinet.yaml\nparts:',
    );
    const findings = check(patchFrom(text)).filter(({ severity }) => severity !== 'note');
    expect(findings.map(({ rule, message }) => `${rule}: ${message}`)).toEqual([]);
  });
});
