// Racks: what is read, what is refused and where, which module gets which unit, and what a rack changes in a patch.

import { Ajv } from 'ajv';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import type { Definition } from '../../../src/modules/definition.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import type { Patch, PatchModule } from '../../../src/patch/patch.ts';
import { assign, pluggedJacks, suits } from '../../../src/patch/rack/assign.ts';
import { type Rack, rackFrom } from '../../../src/patch/rack/rack.ts';
import { rackSchema } from '../../../src/patch/rack/rack-schema.ts';
import { readPatch } from '../../../src/patch/read.ts';
import type { Problem } from '../../../src/patch/text/problem.ts';
import { Report } from '../../../src/patch/text/report.ts';
import { close } from '../../close.ts';
import { moduleOf } from '../../engine/build.ts';
import { SMALL } from '../../findings/read.ts';
import { shipped } from '../../patch-of.ts';
import { runs } from '../../runs.ts';

const FILE = 'rack.yaml';

function read(text: string): { rack: Rack | undefined; problems: readonly Problem[] } {
  const report = new Report();
  const rack = rackFrom(FILE, text, KINDS, report);
  return { rack, problems: report.sorted(FILE) };
}

function patchOn(
  rack: string,
  modules: string,
  cables = '',
): { patch?: Patch; problems: readonly Problem[] } {
  const text = `rack: ${FILE}\nmodules:\n${modules}\n${cables}`;
  return readPatch(text, { file: 'patch.yaml', kinds: KINDS, loadRack: () => rack });
}

const places = (problems: readonly Problem[]): string[] =>
  problems.map(({ code, place: { file, line, column } }) => `${code} ${file}:${line}:${column}`);

const validate = new Ajv({ allErrors: true, strictTypes: false })
  .addVocabulary(['errorMessage', 'defaultSnippets'])
  .compile(rackSchema(KINDS));

describe('the shipped rack', () => {
  const text = shipped('racks/teaching-cabinet.yaml');

  it('is read without a problem, and its schema agrees', () => {
    const { rack, problems } = read(text);
    expect(problems).toEqual([]);
    expect(rack?.cables).toBe(48);
    expect(validate(parse(text)) || validate.errors).toBe(true);
  });

  it('may state what output jacks give, and the schema knows how', () => {
    const own = (facts: string): string =>
      `units: { a: { kind: clock, jacks: { out: { ${facts} } } } }`;
    for (const facts of [
      'high: 3.3 V +- 2 %, low: 0.1 V ± 20 mV, resistance: 2.2 kohm +/- 5 %',
      'high: 66 % +- 1 %, rise: 20 us, width: 4 ms +- 0.1 ms',
    ]) {
      expect(read(own(facts)).problems).toEqual([]);
      expect(validate(parse(own(facts))) || validate.errors).toBe(true);
    }
    expect(validate(parse(own('high: 3.3')))).toBe(false);
  });

  it.each(SMALL)('has a unit for every module of %s', (name) => {
    const { patch, problems } = readPatch(shipped(name), {
      file: name,
      kinds: KINDS,
      load: shipped,
      rack: { file: FILE, text },
    });
    expect(problems).toEqual([]);
    expect(patch?.modules.filter(({ unit }) => unit === undefined).map((one) => one.name)).toEqual(
      [],
    );
  });
});

describe('a rack file', () => {
  it('may leave out all but the units and their kinds', () => {
    const { rack, problems } = read('units: { hiss: { kind: noise } }');
    expect(problems).toEqual([]);
    expect(rack?.units.map(({ name, count }) => [name, count])).toEqual([['hiss', 1]]);
    expect(rack?.cables).toBeUndefined();
  });

  it.each([
    ['', 'wrong-type rack.yaml:1:1', 'empty'],
    ['- a', 'wrong-type rack.yaml:1:1', 'list'],
    ['title: x', 'missing rack.yaml:1:1', 'no units'],
    ['unit: {}\nunits: { a: { kind: noise } }', 'unknown-key rack.yaml:1:1', '"unit"'],
    ['units: { a: { kind: nose } }', 'unknown-kind rack.yaml:1:21', 'nose'],
    ['units: { a: {} }', 'missing rack.yaml:1:10', 'no kind'],
    ['units: { a: { kind: noise, counts: 2 } }', 'unknown-key rack.yaml:1:28', 'counts'],
    ['units: { a: { kind: noise, count: 0 } }', 'range rack.yaml:1:35', 'count'],
    ['units: { a: { kind: noise, count: 1.5 } }', 'wrong-type rack.yaml:1:35', 'whole'],
    ['cables: -1\nunits: { a: { kind: noise } }', 'range rack.yaml:1:9', 'cables'],
    [
      'units: { a: { kind: envelope, fixed: { triger: switch } } }',
      'unknown-key rack.yaml:1:40',
      'triger',
    ],
    [
      'units: { a: { kind: envelope, fixed: { trigger: swich } } }',
      'unknown-name rack.yaml:1:49',
      'swich',
    ],
    [
      'units: { a: { kind: envelope, jacks: { triger: { on: 2 V } } } }',
      'unknown-jack rack.yaml:1:40',
      'triger',
    ],
    [
      'units: { a: { kind: envelope, jacks: { out: { on: 2 V } } } }',
      'unknown-key rack.yaml:1:47',
      'on',
    ],
    // What comes in decides the levels of a mixer; a switch has none; sound has no pulses.
    [
      'units: { a: { kind: mixer, jacks: { out: { high: 4 V } } } }',
      'unknown-key rack.yaml:1:44',
      'high',
    ],
    [
      'units: { a: { kind: trigger-converter, jacks: { switch-out: { high: 4 V } } } }',
      'unknown-key rack.yaml:1:63',
      'high',
    ],
    [
      'units: { a: { kind: noise, jacks: { white: { width: 4 ms } } } }',
      'unknown-key rack.yaml:1:46',
      'width',
    ],
    [
      'units: { a: { kind: rhythm, jacks: { clok: { high: 4 V } } } }',
      'unknown-jack rack.yaml:1:38',
      'clok',
    ],
    [
      'units: { a: { kind: clock, jacks: { out: { high: 4 V +- 2 kohm } } } }',
      'wrong-type rack.yaml:1:50',
      'how far it is off',
    ],
    [
      'units: { a: { kind: clock, jacks: { out: { resistance: 1 kohm +- 100 % } } } }',
      'wrong-type rack.yaml:1:56',
      'how far it is off',
    ],
    [
      'units: { a: { kind: clock, jacks: { out: { high: 4 V +- 120 % } } } }',
      'wrong-type rack.yaml:1:50',
      'how far it is off',
    ],
    [
      'units: { a: { kind: clock, jacks: { out: { high: 4 V +- 1 V +- 1 V } } } }',
      'wrong-type rack.yaml:1:50',
      'how far it is off',
    ],
    [
      'units: { a: { kind: clock, jacks: { out: { high: 1 V, low: 2 V } } } }',
      'range rack.yaml:1:37',
      'low at 2 V is not under high at 1 V',
    ],
    [
      'units: { a: { kind: envelope, jacks: { trigger: { resistance: 0 ohm } } } }',
      'range rack.yaml:1:63',
      'resistance',
    ],
    [
      'units: { a: { kind: envelope, jacks: { trigger: { resistance: 1e12 ohm } } } }',
      'range rack.yaml:1:63',
      'resistance',
    ],
    [
      'units: { a: { kind: multiple, jacks: { in: { resistance: 1 ohm } } } }',
      'wrong-type rack.yaml:1:40',
      'joined',
    ],
    // Contradictions: thresholds the wrong way round, a pull-up that never lets go.
    [
      'units: { a: { kind: envelope, jacks: { trigger: { on: 1 V, off: 2 V } } } }',
      'range rack.yaml:1:40',
      'not under',
    ],
    [
      'units: { a: { kind: envelope, fixed: { trigger: switch }, jacks: { trigger: { on: 2 V, off: 1 V } } } }',
      'range rack.yaml:1:68',
      'not above',
    ],
    [
      'units: { a: { kind: envelope, fixed: { trigger: switch }, jacks: { trigger: { rest: 1.5 V } } } }',
      'range rack.yaml:1:68',
      'never lets go',
    ],
    // Dial tables that contradict themselves, or say too little.
    [
      'units: { a: { kind: envelope, dials: { decay: { 0: 2 ms, 5: 20 ms, 10: 10 ms } } } }',
      'range rack.yaml:1:68',
      'contradicts',
    ],
    [
      'units: { a: { kind: envelope, dials: { decay: { 0: 2 ms, 5: 2 ms } } } }',
      'range rack.yaml:1:58',
      'contradicts',
    ],
    [
      'units: { a: { kind: envelope, dials: { decay: { 5: 2 ms, 5.0: 3 ms } } } }',
      'duplicate rack.yaml:1:58',
      'position 5',
    ],
    [
      'units: { a: { kind: envelope, dials: { decay: { 5: 2 ms } } } }',
      'range rack.yaml:1:40',
      'fewer than two',
    ],
    [
      'units: { a: { kind: envelope, dials: { decay: { low: 2 ms, 5: 3 ms } } } }',
      'wrong-type rack.yaml:1:49',
      'low',
    ],
    [
      'units: { a: { kind: envelope, dials: { decay: { 0: 2 Hz, 5: 3 ms } } } }',
      'unit rack.yaml:1:52',
      'decay',
    ],
    [
      'units: { a: { kind: envelope, dials: { mode: { 0: gate, 1: trigger } } } }',
      'wrong-type rack.yaml:1:40',
      'no number',
    ],
    [
      'units: { a: { kind: envelope, fixed: { decay: 2 ms }, dials: { decay: { 0: 2 ms, 5: 3 ms } } } }',
      'duplicate rack.yaml:1:64',
      'fixed',
    ],
  ])('%s', (text, place, words) => {
    const { problems } = read(text);
    expect(places(problems)).toEqual([place]);
    expect(problems[0]?.message).toContain(words);
  });

  it('has all its problems told in one run', () => {
    const { problems } = read(
      'units:\n  a: { kind: nose }\n  b: { kind: noise, count: 0 }\n  c: { kind: envelope, jaks: {} }\n',
    );
    expect(problems).toHaveLength(3);
  });

  it('of any text is a rack or has problems', () => {
    const words = fc.constantFrom(
      'units',
      'kind',
      'noise',
      'envelope',
      'jacks',
      'dials',
      'fixed',
      'count',
      '{',
      '}',
      ':',
      ' ',
      '\n',
      '  ',
      '-',
      '1',
      '2 V',
      'a',
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.array(words).map((all) => all.join('')),
        ),
        (text) => {
          const { rack, problems } = read(text);
          expect(rack !== undefined || problems.length > 0).toBe(true);
        },
      ),
    );
  });
});

describe('a patch on a rack', () => {
  const rack = `units:
  old: { kind: envelope, count: 2, fixed: { trigger: switch, peak: 8 V }, jacks: { trigger: { on: 0.6 V }, out: { resistance: 220 ohm } }, dials: { decay: { 0: 2 ms, 5: 120 ms, 10: 10 s } } }
  new: { kind: envelope, jacks: { inputs: { resistance: 47 kohm }, outputs: { resistance: 0 ohm } } }
  adapt: { kind: trigger-converter, jacks: { outputs: { resistance: 0 ohm } } }
`;
  const module = (patch: Patch | undefined, name: string): PatchModule => {
    const found = patch?.modules.find((one) => one.name === name);
    if (found === undefined) throw new Error(`no ${name}`);
    return found;
  };

  it('has the facts, the fixed settings and the dials of the unit that it names', () => {
    const { patch, problems } = patchOn(
      rack,
      '  a: { kind: envelope, unit: old, decay: dial 2.5 }',
    );
    expect(problems).toEqual([]);
    const { settings, jacks, unit } = module(patch, 'a');
    expect(unit?.name).toBe('old');
    expect(settings).toMatchObject({ trigger: 'switch', peak: 8 });
    close(settings.decay as number, Math.sqrt(0.002 * 0.12), {
      abs: 5e-10,
      unit: 's',
      why: 'nine digits are kept of a value',
    });
    const trigger = jacks.find(({ name }) => name === 'trigger');
    expect(trigger?.direction === 'in' && trigger.facts.trigger).toMatchObject({
      type: 'switch',
      on: 0.6,
      off: 2,
    });
    const out = jacks.find(({ name }) => name === 'out');
    expect(out?.direction === 'out' && out.facts).toEqual({
      type: 'voltage',
      low: 0,
      high: 8,
      ohms: 220,
    });
  });

  it('takes what was said of all inputs and outputs, and never a closed switch of 0 ohm', () => {
    const { patch } = patchOn(
      rack,
      '  a: { kind: envelope, unit: new }\n  b: { kind: trigger-converter }',
    );
    const facts = (name: string, jack: string): unknown => {
      const found = module(patch, name).jacks.find((one) => one.name === jack);
      return found?.direction === 'through' ? undefined : found?.facts.ohms;
    };
    expect(facts('a', 'trigger')).toBe(47_000);
    expect(facts('a', 'out')).toBe(0);
    expect(facts('b', 'switch-out')).toBe(0.001);
    expect(facts('b', 'voltage-out')).toBe(0);
  });

  it('gives each module a unit that suits it, those first that say what they need', () => {
    const { patch } = patchOn(
      rack,
      '  a: { kind: envelope }\n  b: { kind: envelope, trigger: switch }\n  c: { kind: envelope, trigger: switch }',
    );
    expect(['a', 'b', 'c'].map((name) => module(patch, name).unit?.name)).toEqual([
      'new',
      'old',
      'old',
    ]);
  });

  it('leaves one as it is for which there is none', () => {
    const { patch } = patchOn(
      rack,
      '  a: { kind: envelope, trigger: voltage }\n  b: { kind: envelope, trigger: voltage }',
    );
    expect(module(patch, 'a').unit?.name).toBe('new');
    expect(module(patch, 'b').unit).toBeUndefined();
    expect(module(patch, 'b').settings.trigger).toBe('voltage');
  });

  it.each([
    ['  a: { kind: envelope, unit: olt }', 'unknown-name patch.yaml:3:30'],
    ['  a: { kind: envelope, unit: adapt }', 'wrong-type patch.yaml:3:30'],
    ['  a: { kind: envelope, unit: old, trigger: voltage }', 'wrong-type patch.yaml:3:44'],
    ['  a: { kind: envelope, unit: old, decay: dial 11 }', 'range patch.yaml:3:42'],
    ['  a: { kind: envelope, unit: old, attack: dial 1 }', 'missing patch.yaml:3:43'],
    ['  a: { kind: envelope, unit: old, decay: dial high }', 'wrong-type patch.yaml:3:42'],
    ['  a: { kind: envelope, unit: old, mode: dial 1 }', 'unknown-name patch.yaml:3:41'],
  ])('that does not go together with it is told: %s', (modules, place) => {
    expect(places(patchOn(rack, modules).problems)).toEqual([place]);
  });

  it('needs one for its dials', () => {
    const text = 'modules: { a: { kind: envelope, decay: dial 3 } }';
    const { problems } = readPatch(text, { file: 'patch.yaml', kinds: KINDS });
    expect(places(problems)).toEqual(['missing patch.yaml:1:40']);
  });

  it('says where it names a rack that is not there', () => {
    const { problems } = readPatch('rack: x.yaml\nmodules: { a: { kind: noise } }', {
      file: 'patch.yaml',
      kinds: KINDS,
      loadRack: () => undefined,
    });
    expect(places(problems)).toEqual(['missing patch.yaml:1:7']);
  });

  it('has the places of problems of the rack in the rack’s file', () => {
    expect(
      places(patchOn('units: { a: { kind: nose } }', '  a: { kind: noise }').problems),
    ).toEqual(['unknown-kind rack.yaml:1:21']);
  });
});

describe('who gets which unit', () => {
  const envelope = KINDS.find(({ kind }) => kind === 'envelope');
  const multiple = KINDS.find(({ kind }) => kind === 'multiple');
  if (envelope === undefined || multiple === undefined) throw new Error('no such kinds');
  const place = { file: '', line: 1, column: 1, length: 1 };

  it('is as many as can be: all ways tried', () => {
    const trigger = fc.constantFrom('voltage', 'switch');
    const mode = fc.constantFrom('gate', 'trigger', undefined);
    const unit = fc.record({ trigger, mode, count: fc.integer({ min: 1, max: 2 }) });
    const wanted = fc.record({ trigger, mode: fc.constantFrom('gate', 'trigger') });
    fc.assert(
      fc.property(
        fc.array(unit, { maxLength: 3 }),
        fc.array(wanted, { maxLength: 5 }),
        (units, modules) => {
          const rack: Rack = {
            file: '',
            title: '',
            about: '',
            units: units.map(({ count, trigger: t, mode: m }, index) => ({
              name: `u${index}`,
              definition: envelope,
              count,
              place,
              fixed: { trigger: t, ...(m !== undefined && { mode: m }) },
              fixedWords: new Map(),
              has: new Map(),
              jacks: new Map(),
              dials: new Map(),
            })),
          };
          const given = modules.map((settings, index) => ({
            ...moduleOf(`m${index}`, envelope, settings),
            settingPlaces: new Map(Object.keys(settings).map((key) => [key, place])),
          }));
          const got = assign(given, [], rack);
          const plugs = pluggedJacks([]);
          for (const one of given) {
            const unitOf = got.get(one.name);
            if (unitOf !== undefined) expect(suits(one, unitOf, true, plugs)).toBe(true);
          }
          for (const unitOf of rack.units)
            expect([...got.values()].filter((one) => one === unitOf).length).toBeLessThanOrEqual(
              unitOf.count,
            );
          const most = (index: number, left: readonly number[]): number => {
            const one = given[index];
            if (one === undefined) return 0;
            return Math.max(
              most(index + 1, left),
              ...rack.units.map((unitOf, at) =>
                (left[at] as number) > 0 && suits(one, unitOf, true, plugs)
                  ? 1 + most(index + 1, left.with(at, (left[at] as number) - 1))
                  : 0,
              ),
            );
          };
          expect(got.size).toBe(
            most(
              0,
              rack.units.map(({ count }) => count),
            ),
          );
        },
      ),
      runs(200),
    );
  });

  it('goes by the jacks that have a plug, where units have not all of them: all ways tried', () => {
    const converter = KINDS.find(({ kind }) => kind === 'trigger-converter') as Definition;
    const WAYS = ['both', 'voltage-to-switch', 'switch-to-voltage'] as const;
    const way = fc.constantFrom(...WAYS);
    const unit = fc.record({ way, count: fc.integer({ min: 1, max: 2 }) });
    fc.assert(
      fc.property(
        fc.array(unit, { maxLength: 4 }),
        // The ways that a module is plugged for, and whether the patch says the way.
        fc.array(fc.record({ way, says: fc.boolean() }), { maxLength: 5 }),
        (units, modules) => {
          const rack: Rack = {
            file: '',
            title: '',
            about: '',
            units: units.map(({ count, way: fixed }, index) => ({
              name: `u${index}`,
              definition: converter,
              count,
              place,
              fixed: fixed === 'both' ? {} : { way: fixed },
              fixedWords: new Map(),
              has: new Map(),
              jacks: new Map(),
              dials: new Map(),
            })),
          };
          const given = modules.map(({ way: one, says }, index) => ({
            ...moduleOf(`m${index}`, converter, { way: says ? one : 'both' }),
            settingPlaces: new Map(says ? [['way', place] as const] : []),
          }));
          const jacks = { 'voltage-to-switch': 'voltage-in', 'switch-to-voltage': 'switch-in' };
          const cables = modules.flatMap(({ way: one }, index) =>
            Object.entries(jacks)
              .filter(([name]) => one === 'both' || one === name)
              .map(([, jack]) => ({
                from: { module: 'drums', jack: 'x' },
                to: { module: `m${index}`, jack },
                place,
              })),
          );
          // By hand: a unit of one way is for what is plugged for that way alone.
          const can = (module: number, at: number): boolean => {
            const fixed = units[at]?.way;
            return fixed === 'both' || fixed === modules[module]?.way;
          };
          const got = assign(given, cables, rack);
          for (const [name, one] of got)
            expect(can(Number(name.slice(1)), rack.units.indexOf(one))).toBe(true);
          const most = (index: number, left: readonly number[]): number =>
            index === modules.length
              ? 0
              : Math.max(
                  most(index + 1, left),
                  ...left.map((free, at) =>
                    free > 0 && can(index, at) ? 1 + most(index + 1, left.with(at, free - 1)) : 0,
                  ),
                );
          expect(got.size).toBe(
            most(
              0,
              units.map(({ count }) => count),
            ),
          );
        },
      ),
      runs(200),
    );
  });

  it('looks at the plugs of a multiple, not at the jacks that the patch gives it', () => {
    const rack =
      'units: { small: { kind: multiple, fixed: { jacks: 3 } }, hiss: { kind: noise }, mix: { kind: mixer } }';
    const cables = (count: number): string =>
      `cables:\n  - hiss.white -> m.in\n${Array.from({ length: count }, (_, i) => `  - m.out-${i + 1} -> mix.in-${i + 1}`).join('\n')}`;
    const modules =
      '  hiss: { kind: noise }\n  m: { kind: multiple, jacks: 8 }\n  mix: { kind: mixer }';
    const unit = (count: number): string | undefined =>
      patchOn(rack, modules, cables(count)).patch?.modules.find(({ name }) => name === 'm')?.unit
        ?.name;
    expect(unit(2)).toBe('small');
    expect(unit(3)).toBeUndefined();
  });
});

describe('how many a unit has', () => {
  // What each kind counts: a module that asks for so many, on one with just enough and one with too few.
  const cases: [kind: string, what: string, wanted: number, module: string, at: string][] = [
    ['step-sequencer', 'rows', 3, 'rows: { a: [C2], b: [C2], c: [C2, D2] }', 'rows'],
    ['step-sequencer', 'steps', 5, 'rows: { a: [C2, C2, C2, C2, C2] }', 'rows'],
    ['step-sequencer', 'steps', 6, 'gates: "x-x-xx"', 'gates'],
    ['cluster', 'oscillators', 4, 'ratios: [1, 1.4, 1.7, 2.9]', 'ratios'],
    ['cluster', 'oscillators', 7, "drawn: '7'", 'drawn'],
    ['sequential-switch', 'ways', 5, 'ways: 5', 'ways'],
    ['rhythm', 'channels', 2, 'channels: [a, b], patterns: { p: { a: x } }', 'channels'],
    ['rhythm', 'steps', 9, 'channels: [a], patterns: { p: { a: "xxxxxxxxx" } }', 'patterns'],
  ];
  const rackOf = (kind: string, what: string, has: number, more = '') =>
    `units:\n  own: { kind: ${kind}, has: { ${what}: ${has} } }\n${more}`;

  it('is tried for all that any kind counts', () => {
    const counted = KINDS.flatMap(({ kind, sizes = {} }) =>
      Object.keys(sizes).map((what) => `${kind} ${what}`),
    );
    const tried = new Set(cases.map(([kind, what]) => `${kind} ${what}`));
    expect(new Set(counted)).toEqual(tried);
  });

  it.each(cases)('of a %s, %s: %d', (kind, what, wanted, settings, at) => {
    const module = `  m: { kind: ${kind}, ${settings} }`;
    const unitOf = (rack: string) => patchOn(rack, module).patch?.modules[0]?.unit?.name;
    expect(unitOf(rackOf(kind, what, wanted))).toBe('own');
    expect(unitOf(rackOf(kind, what, wanted - 1))).toBeUndefined();
    // One that does not say is counted as enough, and of two the larger is taken.
    expect(unitOf(`units:\n  own: { kind: ${kind} }\n`)).toBe('own');
    const more = `  large: { kind: ${kind}, has: { ${what}: ${wanted + 1} } }\n`;
    expect(unitOf(rackOf(kind, what, wanted - 1, more))).toBe('large');
    // Named, it is an error where it asks for them.
    const named = `  m: { kind: ${kind}, unit: own, ${settings} }`;
    const { problems } = patchOn(rackOf(kind, what, wanted - 1), named);
    // At the word for several values, at the value of one.
    const column = named.indexOf(`${at}:`) + 1;
    const value = column + at.length + 2;
    expect([column, value].map((one) => [`range patch.yaml:3:${one}`])).toContainEqual(
      places(problems),
    );
    expect(problems[0]?.message).toBe(`"m" has ${wanted} ${what}`);
    expect(problems[0]?.expected).toBe(`at most ${wanted - 1}, which is what the unit "own" has`);
  });

  it('is checked by the schema as by the reader', () => {
    for (const [unit, isRight] of [
      ['{ kind: cluster, has: { oscillators: 4 } }', true],
      ['{ kind: cluster, has: { oscillators: 9 } }', false],
      ['{ kind: cluster, has: { oscillators: 0 } }', false],
      ['{ kind: cluster, has: { oscillator: 4 } }', false],
      ['{ kind: noise, has: { oscillators: 4 } }', false],
    ] as const) {
      const text = `units:\n  own: ${unit}\n`;
      expect(read(text).problems.length === 0, unit).toBe(isRight);
      expect(validate(parse(text)), unit).toBe(isRight);
    }
    const [wrong] = read('units:\n  own: { kind: cluster, has: { oscillator: 4 } }\n').problems;
    expect(wrong?.nearest).toBe('oscillators');
  });
});
