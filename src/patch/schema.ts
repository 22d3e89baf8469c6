/**
 * The JSON Schema of the patch file, made from the kinds' definitions, so that an editor completes
 * and checks while one types. Draft-07, which editors' YAML extensions read. Looser than the reader:
 * ranges of numbers with units, cables and names that refer to each other are the reader's to check.
 */

import type {
  Definition,
  NumberSpec,
  RowSpec,
  RowsSpec,
  SettingSpec,
} from '../modules/definition.ts';
import { CABLE_PATTERN } from './cables.ts';
import { DIAL } from './rack/dial.ts';
import { MAX_TITLE } from './read.ts';
import { RECORDING_RULE } from './recording/read-recording.ts';
import { FEEL_WORDS, LENGTH, STEPS_PER_QUARTER } from './score/pattern.ts';
import { MAX_CHANNELS, NOTE, REPEATS } from './score/read-score.ts';
import {
  expectedRow,
  expectedRows,
  formatRow,
  formatRows,
  GATE_ROW_PATTERN,
  NOTE_PATTERN,
} from './score/row.ts';
import { MAX_STEPS, TAB_PATTERN, TAB_RULE } from './score/tab.ts';
import { expectedOf, isScoreSpec } from './settings.ts';
import { NAME_PATTERN, NAME_RULE } from './text/nodes.ts';
import { formatBriefly, formatValue, type PlainSpec, unitsOf } from './units.ts';

export type Schema = { readonly [word: string]: unknown };

/** JSON Schema's word for what follows an `if`; spelt out as a key it would make a promise of it. */
export const THEN = 'then';

const NUMBER_PATTERN = '[-+]?(\\.[0-9]+|[0-9]+(\\.[0-9]*)?)([eE][-+]?[0-9]+)?';

/**
 * The JSON Schema (draft-07) of a patch and of a part, for these kinds of module.
 * @returns plain data of the caller's own.
 */
export function patchSchema(kinds: readonly Definition[]): object {
  return {
    $schema: 'http://json-schema.org/draft-07/schema#',
    title: 'Forehear patch',
    description: 'A planned modular patch: modules, their settings and the cables between them.',
    type: 'object',
    additionalProperties: false,
    properties: {
      title: { ...textSchema('What the patch is called.'), maxLength: MAX_TITLE },
      about: textSchema('What it is for, for students.'),
      seed: textSchema('Any text; the same seed gives the same noise and the same chances.'),
      rack: {
        type: 'string',
        description: 'A file of what you own, from the folder of this file.',
      },
      modules: {
        description: 'Your name of each module, its kind and its settings.',
        ...named({ $ref: '#/definitions/module' }),
      },
      parts: {
        description: 'Patch fragments by name; a module of one is then called PART.MODULE.',
        ...named({ $ref: '#/definitions/part' }),
      },
      cables: {
        type: 'array',
        description: 'Cables, each from an output to an input: shape.out -> level.control',
        items: {
          type: 'string',
          pattern: CABLE_PATTERN,
          errorMessage: 'A cable goes from an output to an input: shape.out -> level.control',
        },
      },
    },
    definitions: {
      module: moduleSchema(kinds),
      part: PART,
      dial: DIAL_SCHEMA,
      ...scoreDefinitions(kinds.find(({ role }) => role === 'score')),
    },
  };
}

/** The schema as the text of a file, in the same order every time. */
export function schemaText(kinds: readonly Definition[]): string {
  return schemaLines(patchSchema(kinds));
}

/** Lists and objects of plain values, on several lines. */
const PLAIN = String.raw`(?:"(?:[^"\\]|\\.)*"|[-\d.e]+|true|false)`;
const ENTRY = `(?:"[^"]*": )?${PLAIN}`;
const SPREAD = new RegExp(String.raw`([[{])\s+(${ENTRY}(?:,\s+${ENTRY})*)\s+([\]}])`, 'g');
/** The most characters of such in one line. */
const LINE = 1000;

/** The text of a schema, in the usual form of JSON, lists and objects of plain values in one line. */
export function schemaLines(schema: object): string {
  const text = JSON.stringify(schema, null, '\t').replace(
    SPREAD,
    (all, open: string, inner: string, close: string) => {
      const line = inner.replace(/,\s+/g, ', ');
      if (line.length > LINE) return all;
      return open === '{' ? `{ ${line} }` : `[${line}${close}`;
    },
  );
  return `${text}\n`;
}

/** YAML reads a bare 1729 as a number; the reader takes it as the text it is. */
export function textSchema(description: string): Schema {
  return { type: ['string', 'number'], description };
}

/** Editors' YAML extensions show `errorMessage` in place of the pattern, which tells nobody anything. */
const NAME: Schema = {
  type: 'string',
  pattern: NAME_PATTERN,
  errorMessage: `A name: ${NAME_RULE}`,
};

export function named(values: Schema): Schema {
  return {
    type: 'object',
    propertyNames: NAME,
    additionalProperties: values,
  };
}

const PART: Schema = {
  anyOf: [
    { type: 'string', minLength: 1, description: 'The file, such as parts/hat.yaml.' },
    {
      type: 'object',
      required: ['file'],
      additionalProperties: false,
      properties: {
        file: { type: 'string', minLength: 1, description: 'The file, such as parts/hat.yaml.' },
        set: {
          type: 'object',
          description: 'Settings that differ from the file, such as { shape.decay: 80 ms }.',
          propertyNames: {
            pattern: '\\.',
            errorMessage: 'A module and its setting: shape.decay',
          },
        },
      },
    },
  ],
};

function moduleSchema(kinds: readonly Definition[]): Schema {
  return {
    type: 'object',
    required: ['kind'],
    properties: {
      kind: kindSchema(kinds),
    },
    // What completes after a module's name, as one line.
    defaultSnippets: kinds.map((definition) => ({
      label: definition.kind,
      description: definition.about,
      body: snippetOf(definition),
    })),
    allOf: kinds.map((definition) => ({
      if: { properties: { kind: { const: definition.kind } }, required: ['kind'] },
      [THEN]: {
        description: definition.about,
        additionalProperties: false,
        ...requiredOf(definition),
        properties: {
          kind: { const: definition.kind },
          unit: {
            type: 'string',
            minLength: 1,
            description: 'Which unit of the rack it is; without it, one that fits.',
          },
          ...Object.fromEntries(
            Object.entries(definition.settings).map(([name, spec]) => [name, settingSchema(spec)]),
          ),
        },
      },
    })),
  };
}

/** The name of a kind. */
export function kindSchema(kinds: readonly Definition[]): Schema {
  const names = kinds.map(({ kind }) => kind);
  return {
    description: 'The kind of module.',
    enum: names,
    errorMessage: `A kind of module: ${names.join(', ')}`,
  };
}

/** The settings that a kind must be given. */
function requiredOf(definition: Definition): Schema {
  if (definition.role === 'score') return { required: ['channels', 'patterns'] };
  const files = filesOf(definition);
  return files.length === 0 ? {} : { required: files };
}

/** The settings that name a file. */
function filesOf({ settings }: Definition): readonly string[] {
  return Object.keys(settings).filter((name) => settings[name]?.type === 'recording');
}

/** A module of a kind in one line, ready to have its settings added. */
function snippetOf(definition: Definition): string {
  const { kind, role, settings } = definition;
  if (role === 'score')
    return `{ kind: ${kind}, channels: [hat], patterns: { beat: { hat: "x-x-" } }, song: [beat] }`;
  const files = filesOf(definition).map((name) => `, ${name}: sounds/knock.wav`);
  const rows = Object.entries(settings).find(([, { type }]) => type === 'rows');
  return rows === undefined
    ? `{ kind: ${kind}${files.join('')} }`
    : `{ kind: ${kind}, ${rows[0]}: { pitch: [C2, Eb2] } }`;
}

function settingSchema(spec: SettingSpec): Schema {
  if (isScoreSpec(spec)) {
    // What stands beside a $ref is not read in draft-07, so the description needs the allOf.
    return { description: spec.about, allOf: [{ $ref: `#/definitions/${spec.type}` }] };
  }
  if (spec.type === 'recording') {
    const rule = sentence(RECORDING_RULE);
    return { description: `${spec.about} ${rule}`, type: 'string', errorMessage: rule };
  }
  if (spec.type === 'row') {
    const description = `${spec.about} ${sentence(expectedRow(spec))} Default: ${formatRow(spec.fallback, spec)}.`;
    return { description, ...rowSchema(spec), errorMessage: sentence(expectedRow(spec)) };
  }
  if (spec.type === 'rows') {
    const description = `${spec.about} ${sentence(expectedRows(spec))} Default: ${formatRows(spec.fallback, spec)}.`;
    return { description, ...rowsSchema(spec) };
  }
  return {
    description: `${spec.about} ${sentence(expectedOf(spec))} Default: ${fallbackOf(spec)}.`,
    ...('max' in spec ? dialledSchema(spec) : plainSchema(spec)),
  };
}

/** A number that may also be the position of a dial: one pattern, so that an editor has one message. */
function dialledSchema(spec: NumberSpec): Schema {
  const schema = plainSchema(spec);
  return typeof schema.pattern === 'string'
    ? { ...schema, pattern: `${schema.pattern}|${DIAL.source}` }
    : { anyOf: [schema, { $ref: '#/definitions/dial' }] };
}

/** Any number may be given as the position of a knob that the rack has a table for. */
const DIAL_SCHEMA: Schema = {
  type: 'string',
  description: 'The position of the dial, such as dial 3.4; the rack says what it stands for.',
  pattern: DIAL.source,
  errorMessage: 'The position of a dial: dial 3.4',
};

function fallbackOf(spec: PlainSpec): string {
  return typeof spec.fallback === 'number'
    ? formatBriefly(spec.fallback, (spec as NumberSpec).type)
    : formatValue(spec.fallback, spec.type);
}

function sentence(words: string): string {
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
}

/** The schema of a setting that is one text in the file, with what an editor says of another. */
export function plainSchema(spec: PlainSpec): Schema {
  return { ...formSchema(spec), errorMessage: sentence(expectedOf(spec)) };
}

function formSchema(spec: PlainSpec): Schema {
  switch (spec.type) {
    case 'choice': {
      // YAML reads an option such as 24 as a number.
      const numbers = spec.options.filter((option) => /^[0-9]+$/.test(option)).map(Number);
      return { enum: [...spec.options, ...numbers] };
    }
    case 'flag':
      return { type: 'boolean' };
    case 'span':
      return { type: 'string', pattern: withUnits([...unitsOf('time'), '%']) };
    case 'rate':
      return { type: 'string', pattern: '^\\s*[0-9]+\\s+per\\s+(quarter|step)\\s*$' };
    case 'number':
      return { type: 'number', minimum: spec.min, maximum: spec.max };
    case 'count':
      return { type: 'integer', minimum: spec.min, maximum: spec.max };
    default:
      return { type: 'string', pattern: withUnits(unitsOf(spec.type), spec) };
  }
}

function withUnits(units: readonly string[], spec?: NumberSpec): string {
  const tau = spec?.timeConstants === undefined ? '' : '(\\s*tau)?';
  return `^\\s*${NUMBER_PATTERN}\\s*(${units.join('|')})${tau}\\s*$`;
}

function rowsSchema({ row, most }: RowsSpec): Schema {
  const each = { ...rowSchema(row), errorMessage: sentence(expectedRow(row)) };
  return { ...named(each), maxProperties: most };
}

function rowSchema({ unit, min, max, shortest, longest }: RowSpec): Schema {
  if (unit === 'gate') return { type: 'string', pattern: GATE_ROW_PATTERN };
  if (unit === 'number') {
    const errorMessage = `A plain number from ${min} to ${max}`;
    const items = { type: 'number', minimum: min, maximum: max, errorMessage };
    return { type: 'array', minItems: shortest, maxItems: longest, items };
  }
  const volts = withUnits(unitsOf('voltage')).slice(1, -1);
  return {
    type: 'array',
    minItems: shortest,
    maxItems: longest,
    items: {
      type: 'string',
      pattern: `^(${NOTE_PATTERN}|${volts})$`,
      errorMessage: 'A note or volts: C2, Eb2 or 0.25 V',
    },
  };
}

/** A line such as 8888 is a number to YAML. */
const TAB: Schema = {
  description: `One character a step, 1 to ${MAX_STEPS}: ${TAB_RULE}; spaces and | are for the eye.`,
  type: ['string', 'integer'],
  pattern: TAB_PATTERN,
  errorMessage: `1 to ${MAX_STEPS} steps, one character each: ${TAB_RULE}`,
};

/** The score's words, with the limits that the rhythm's own settings have. */
function scoreDefinitions(rhythm: Definition | undefined): Schema {
  if (!rhythm) return {};
  const some = (words: readonly string[]): Schema =>
    Object.fromEntries(
      words
        .filter((word) => Object.hasOwn(rhythm.settings, word))
        .map((word) => [word, settingSchema(rhythm.settings[word] as SettingSpec)]),
    );
  return {
    channels: {
      type: 'array',
      minItems: 1,
      maxItems: MAX_CHANNELS,
      uniqueItems: true,
      items: NAME,
    },
    notes: named(plainSchema(NOTE)),
    patterns: { ...named({ $ref: '#/definitions/pattern' }), minProperties: 1 },
    pattern: {
      type: 'object',
      properties: {
        from: { type: 'string', description: 'Another pattern that this one starts from.' },
        'steps-per-quarter': settingSchema(STEPS_PER_QUARTER),
        length: settingSchema(LENGTH),
        ...some(FEEL_WORDS),
      },
      additionalProperties: { $ref: '#/definitions/line' },
    },
    line: {
      anyOf: [
        TAB,
        {
          type: 'object',
          required: ['steps'],
          additionalProperties: false,
          properties: {
            steps: TAB,
            ...some(['chance', 'flam', 'gate', 'swing']),
            at: {
              type: 'object',
              description: 'What single steps have of their own, by number from 1.',
              propertyNames: {
                pattern: '^[0-9]+$',
                errorMessage: 'The number of a step, from 1',
              },
              additionalProperties: {
                type: 'object',
                additionalProperties: false,
                properties: some(['chance', 'flam', 'gate']),
              },
            },
          },
        },
      ],
    },
    song: {
      type: 'array',
      minItems: 1,
      items: {
        anyOf: [
          { type: 'string' },
          {
            type: 'object',
            required: ['pattern'],
            additionalProperties: false,
            properties: {
              pattern: { type: 'string', description: 'The name of the pattern.' },
              repeats: settingSchema(REPEATS),
              ...some(FEEL_WORDS),
            },
          },
        ],
      },
    },
  };
}
