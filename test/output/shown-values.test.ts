// Values as people see them. A value of a file is shown as the file writes it; a value that is worked
// out has four digits at most, in a suitable unit, and reads back to that precision.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readVariations } from '../../src/compare/vary.ts';
import { prepared } from '../../src/engine/prepared.ts';
import { inVolts } from '../../src/findings/words.ts';
import { knobText as fitText, readKnobs } from '../../src/fit/settings.ts';
import type {
  Definition,
  NumberSpec,
  RecordingSpec,
  RowSpec,
  RowsSpec,
  SettingSpec,
} from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { BlockFigure } from '../../src/output/diagram/figures.ts';
import { plainlyPlaced } from '../../src/output/diagram/plain.ts';
import { formatReference } from '../../src/output/format-reference.ts';
import { lessonMarkdown } from '../../src/output/lesson/lesson-markdown.ts';
import { outlineOf } from '../../src/output/sheet/sheet.ts';
import { sheetMarkdown } from '../../src/output/sheet/sheet-markdown.ts';
import { sheetPage } from '../../src/output/sheet/sheet-page.ts';
import { placeOf } from '../../src/page/worker/place.ts';
import { viewOf } from '../../src/page/worker/view.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { formatRow } from '../../src/patch/score/row.ts';
import { isScoreSpec, parseSetting } from '../../src/patch/settings.ts';
import { formatBriefly, type PlainSpec, unitsOf } from '../../src/patch/units.ts';
import { close } from '../close.ts';
import { KNOCK } from '../knock.ts';
import { runs } from '../runs.ts';
import { fromMarkdown, fromPage } from './handout.ts';
import { example } from './sheet-patches.ts';

const DIGITS = 4;
/** Half a unit of the fourth digit of 1.000; and of a double's own rounding, a little. */
const NEAR = 0.5 * 10 ** (1 - DIGITS) * (1 + 1e-9);
type Shown = PlainSpec | RecordingSpec | RowSpec | RowsSpec;

const SETTINGS = KINDS.flatMap((definition) =>
  Object.entries(definition.settings)
    .filter(([, spec]) => !isScoreSpec(spec))
    .map(([name, spec]) => ({ definition, name, spec: spec as Shown })),
);

/** Digits that say something: not zeros in front, nor those that only hold the place at the end. */
function digitsIn(text: string): number {
  const [, number = ''] = /^-?([\d.]+)/.exec(text) ?? [];
  const plain = number.includes('.') ? number : number.replace(/0+$/, '');
  return plain.replace('.', '').replace(/^0+/, '').length;
}

function readBack(text: string, spec: PlainSpec): unknown {
  const reading = parseSetting(text, spec, 'value');
  if (reading.fault) throw new Error(`${text}: ${reading.fault.message}`);
  return reading.value;
}

function isNumber(spec: SettingSpec): spec is NumberSpec {
  return 'max' in spec && spec.type !== 'row';
}

/** A value of the setting in one of the ways that a hand writes it. */
function writtenText(spec: Shown): fc.Arbitrary<string> {
  switch (spec.type) {
    case 'row':
      return spec.unit === 'gate'
        ? fc.constantFrom('x-x-', 'x x- | xx', '----')
        : spec.unit === 'number'
          ? fc
              .array(fc.constantFrom('1', '2.5', '0.75', '1e1', '3.0'), {
                minLength: 2,
                maxLength: 8,
              })
              .map((items) => `[${items.join(', ')}]`)
          : fc
              .array(fc.constantFrom('C2', 'Eb2', 'F#1', 'Cb3', '0.25 V', '-0.417V', '333 mV'), {
                minLength: 1,
                maxLength: 4,
              })
              .map((items) => `[${items.join(', ')}]`);
    case 'rows':
      return fc
        .dictionary(fc.constantFrom('pitch', 'bright', 'a-b'), writtenText(spec.row), {
          minKeys: 1,
        })
        .map(
          (rows) =>
            `{ ${Object.entries(rows)
              .map(([name, row]) => `${name}: ${row}`)
              .join(', ')} }`,
        );
    case 'recording':
      return fc.constantFrom('knock.wav', './knock.wav', 'sounds/knock at a table.wav');
    case 'choice':
      return fc.constantFrom(...spec.options);
    case 'flag':
      return fc.constantFrom('true', 'false');
    case 'span':
      return fc.constantFrom('8 ms', '50%', '0.4 ms', '400 us', '33.3333 %');
    case 'rate':
      return fc.constantFrom('2 per quarter', '1 per step');
    case 'count':
      return fc.integer({ min: spec.min, max: Math.min(spec.max, spec.min + 8) }).map(String);
    default: {
      const units = unitsOf(spec.type);
      return (
        fc
          .record({
            share: fc.double({ min: 0, max: 1, noNaN: true }),
            unit: fc.constantFrom(...(units.length === 0 ? [''] : units)),
            digits: fc.integer({ min: 1, max: 9 }),
            space: fc.constantFrom(' ', ''),
          })
          .map(({ share, unit, digits, space }) => {
            const value = spec.min + share * (spec.max - spec.min);
            const one = readBack(`1 ${unit}`, { ...spec, min: 0, max: 1e9 }) as number;
            return `${Number((value / one).toPrecision(digits))}${unit === '' ? '' : space}${unit}`;
          })
          // Rounding may lead out of the range, and a large number be written with an exponent.
          .filter((text) => !parseSetting(text, spec, '').fault)
      );
    }
  }
}

/** A patch of one module beside an output; a rhythm has something to play. */
function patchText({ kind, role, settings }: Definition, own: string): string {
  const score = role === 'score' ? ', channels: [hit], patterns: { a: { hit: "x---" } }' : '';
  const file = 'file' in settings && !own.includes('file:') ? ', file: knock.wav' : '';
  const map = `{ kind: ${kind}${score}${file}${own} }`;
  return `modules:\n  one: ${map}\n${role === 'output' ? '' : '  out: { kind: output }\n'}cables: []\n`;
}

function read(text: string): Patch | undefined {
  const loadRecording = (): string => KNOCK;
  return readPatch(text, { file: 'one.yaml', kinds: KINDS, loadRecording }).patch;
}

/** What each place that shows a setting of the module `one` has for it. */
async function shown(
  patch: Patch,
  text: string,
  name: string,
  spec: Shown,
): Promise<Readonly<Record<string, string | undefined>>> {
  const sheet = { ...outlineOf(patch), findings: [] };
  // The diagram shows no values, and to lay it out well takes longer than all else here.
  const place = async (figure: BlockFigure) => plainlyPlaced(figure);
  const bare = { ...sheet, patch: { ...patch, modules: [] } };
  const page = await sheetPage(bare, { clip: false, place });
  const files = { main: 'one.yaml', set: [], texts: { 'one.yaml': text } };
  const view = viewOf(patch, files, placeOf(patch, undefined, undefined));
  const one = patch.modules.filter((module) => module.name === 'one');
  const stage = {
    type: 'mix' as const,
    title: '',
    jack: { module: 'one', jack: 'out' },
    of: prepared(patch),
    modules: one,
    strokes: new Set<string>(),
  };
  const lesson = lessonMarkdown({
    patch,
    stages: [{ stage, picture: '', drawing: '' }],
    joined: '',
    targetLufs: null,
    sampleRate: 48_000,
  }).replace(/\\(.)/g, '$1');
  // On the page each row is a setting of its own.
  const viewed = new Map(
    view.modules
      .find((module) => module.name === 'one')
      ?.settings.map((setting) => [setting.name, setting.text]),
  );
  const rows = [...viewed].flatMap(([setting, words]) =>
    setting.startsWith(`${name}.`) ? [`${setting.slice(name.length + 1)}: ${words}`] : [],
  );
  const given = (handout: ReturnType<typeof fromPage>): string | undefined =>
    handout.modules.find((module) => module.name === 'one')?.settings[name];
  return {
    page: given(fromPage(page)),
    markdown: given(fromMarkdown(sheetMarkdown(sheet))),
    view: spec.type === 'rows' ? `{ ${rows.join(', ')} }` : viewed.get(name),
    lesson: new RegExp(`Set to: (?:.*, )?${name} (.*)\\.$`, 'm').exec(lesson)?.[1],
    ...(isNumber(spec) && {
      fit: readKnobs([`one.${name}`], patch).map((knob) => fitText(knob, knob.before))[0],
    }),
  };
}

describe('what a file writes', () => {
  it.each(SETTINGS.map((setting) => [`${setting.definition.kind}.${setting.name}`, setting]))(
    'is shown as it writes it: %s',
    async (_, setting) => {
      const { definition, name, spec } = setting as (typeof SETTINGS)[number];
      await fc.assert(
        fc.asyncProperty(writtenText(spec), async (words) => {
          const quoted = /^[[{]/.test(words) ? words : JSON.stringify(words);
          const text = patchText(definition, `, ${name}: ${quoted}`);
          const patch = read(text);
          // One setting may exclude another's usual value.
          fc.pre(patch !== undefined);
          const places = await shown(patch as Patch, text, name, spec);
          for (const [place, found] of Object.entries(places)) expect(found, place).toBe(words);
        }),
        runs(3),
      );
    },
  );

  it('is compared as the value that it is', () => {
    fc.assert(
      fc.property(
        fc
          .constantFrom(
            ...SETTINGS.filter(
              // Times within a file are right or wrong by what the file lasts.
              ({ definition, spec }) =>
                isNumber(spec) && !(definition.clashes && spec.type === 'time'),
            ),
          )
          .chain((setting) => writtenText(setting.spec).map((words) => ({ ...setting, words }))),
        ({ definition, name, spec, words }) => {
          const text = patchText(definition, '');
          const patch = read(text) as Patch;
          const texts = { 'one.yaml': text, 'knock.wav': KNOCK };
          const written = { main: 'one.yaml', texts, set: [] };
          const [vary] = readVariations([`one.${name}=${words}`], written, patch);
          const value = (one = ''): unknown => readBack(one, spec as PlainSpec);
          expect(value(vary?.values[0])).toBe(value(words));
        },
      ),
      runs(100),
    );
  });

  it('comes from the examples as it stands in them', () => {
    const walk = outlineOf(example('bass-line')).settings.find(({ name }) => name === 'walk');
    expect(walk?.settings.find(({ name }) => name === 'rows')?.value).toBe(
      '{ pitch: [C2, C2, G1, Bb1, C2, Eb2] }',
    );
    const shape = outlineOf(example('closed-hat')).settings.find(({ name }) => name === 'shape');
    expect(shape?.settings.find(({ name }) => name === 'attack')?.value).toBe('0.4 ms');
  });
});

describe('what is worked out', () => {
  const numbers = SETTINGS.map(({ spec }) => spec).filter(isNumber);

  it('has at most four digits, and reads back to them', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...numbers),
        fc.double({ min: -9, max: 9, noNaN: true }),
        fc.boolean(),
        (spec, exponent, negative) => {
          const value = (negative ? -1 : 1) * 10 ** exponent;
          const whole = spec.type === 'count' ? Math.round(value) : value;
          const text = formatBriefly(whole, spec.type);
          expect(digitsIn(text), text).toBeLessThanOrEqual(DIGITS);
          const wide = { ...spec, min: -1e10, max: 1e10 };
          const again = readBack(text, wide) as number;
          close(again, whole, {
            abs: NEAR * Math.abs(whole) + Number.MIN_VALUE,
            unit: '',
            why: 'half a unit of the fourth digit',
          });
        },
      ),
      runs(1000),
    );
  });

  it('stands in the unit that a hand would use', () => {
    // Common practice, no source: short times in ms down to a tenth, cutoffs from 1 kHz in kHz.
    expect(formatBriefly(0.0004, 'time')).toBe('0.4 ms');
    expect(formatBriefly(0.00005, 'time')).toBe('50 us');
    expect(formatBriefly(1.25, 'time')).toBe('1.25 s');
    expect(formatBriefly(7512.34, 'frequency')).toBe('7.512 kHz');
    expect(formatBriefly(22_000, 'resistance')).toBe('22 kohm');
  });

  it('is so for the volts of findings', () => {
    fc.assert(
      fc.property(fc.double({ min: -100, max: 100, noNaN: true }), (value) => {
        expect(digitsIn(inVolts(value))).toBeLessThanOrEqual(DIGITS);
        // Millivolts where four digits would tell less.
        const again = Number(inVolts(value).replace(' V', ''));
        close(again, value, {
          abs: Math.max(0.0005 * (1 + 1e-9), NEAR * Math.abs(value)),
          unit: 'V',
          why: 'half a millivolt, or half a unit of the fourth digit',
        });
      }),
      runs(300),
    );
  });

  it.each(KINDS.map((definition) => [definition.kind, definition] as const))(
    'is so for what %s has where the file is silent',
    async (_, definition) => {
      const text = patchText(definition, '');
      const patch = read(text) as Patch;
      const files = { main: 'one.yaml', set: [], texts: { 'one.yaml': text } };
      const view = viewOf(patch, files, placeOf(patch, undefined, undefined));
      const reference = formatReference([definition]);
      for (const [name, spec] of Object.entries(definition.settings)) {
        if (!isNumber(spec)) continue;
        const onSheet = outlineOf(patch)
          .settings.find((module) => module.name === 'one')
          ?.settings.find((setting) => setting.name === name)?.value;
        const one = patch.modules.find((module) => module.name === 'one');
        // A sheet tells no level of an input without a cable.
        const isIdle = one?.jacks.some((jack) => jack.direction === 'in' && jack.level === name);
        if (isIdle) expect(onSheet).toBeUndefined();
        const places = [
          ...(isIdle ? [] : [onSheet]),
          view.modules
            .find((module) => module.name === 'one')
            ?.settings.find((setting) => setting.name === name)?.text,
          new RegExp(`^\\| \`${name}\` \\| [^|]* \\| ([^|]*) \\| [^|]* \\|$`, 'm').exec(
            reference,
          )?.[1],
        ];
        for (const place of places) {
          expect(digitsIn(place ?? ''), place).toBeLessThanOrEqual(DIGITS);
          const again = readBack(place ?? '', spec) as number;
          close(again, spec.fallback, {
            abs: NEAR * Math.abs(spec.fallback) + Number.MIN_VALUE,
            unit: '',
            why: 'half a unit of the fourth digit',
          });
        }
      }
    },
  );

  it('is so for what a dial stands for', () => {
    const patch = example('closed-hat', true, ['shape.decay=dial 3.4567']);
    const decay = outlineOf(patch)
      .settings.find(({ name }) => name === 'shape')
      ?.settings.find(({ name }) => name === 'decay');
    expect(decay?.dial).toBe('dial 3.4567');
    expect(digitsIn(decay?.value ?? '')).toBeLessThanOrEqual(DIGITS);
  });
});

describe('a row without words', () => {
  const spec = {
    type: 'row',
    unit: 'pitch',
    min: -10,
    max: 10,
    shortest: 1,
    longest: 32,
    fallback: [0],
    about: '',
  } as const;

  it('is written as notes, each the very voltage', () => {
    // One volt an octave, twelve equal semitones: n/12 V above C2 is the nth semitone.
    const names = /^\[(?:[A-G][#b]?-?\d(?:, )?)+\]$/;
    const rows = KINDS.find(({ kind }) => kind === 'step-sequencer') as Definition;
    for (let octave = -8; octave < 7; octave++) {
      const values = Array.from({ length: 12 }, (_, semitone) => octave + semitone / 12);
      const text = formatRow(values, spec);
      expect(text).toMatch(names);
      const patch = read(patchText(rows, `, rows: { low: ${text} }`));
      expect(patch?.modules[0]?.settings.rows).toEqual([{ name: 'low', values }]);
    }
  });

  it('has volts for what is between the notes', () => {
    expect(formatRow([0, 0.3, -1 / 12], spec)).toBe('[C2, 0.3 V, B1]');
  });
});
