/** The JSON Schema of the rack file, made from the kinds' definitions, for editors. Draft-07. */

import type { Definition, NumberSpec } from '../../modules/definition.ts';
import {
  kindSchema,
  named,
  plainSchema,
  type Schema,
  schemaLines,
  THEN,
  textSchema,
} from '../schema.ts';
import type { PlainSpec } from '../units.ts';
import {
  ALL_INPUTS,
  ALL_OUTPUTS,
  INPUT_FACTS,
  isLevel,
  OUTPUT_FACTS,
  PULSE_FACTS,
  SHARE,
  SWITCH_FACTS,
  TRIGGER_FACTS,
} from './jacks.ts';
import { CABLE_COUNT, COUNT, plainNames, plainSpecOf, sizeSpec } from './rack.ts';

/** The schema of a rack of these kinds of module. */
export function rackSchema(kinds: readonly Definition[]): object {
  return {
    $schema: 'http://json-schema.org/draft-07/schema#',
    title: 'Forehear rack',
    description: 'What one owns: modules, what was measured of them, and cables.',
    type: 'object',
    required: ['units'],
    additionalProperties: false,
    properties: {
      title: textSchema('What the rack is called.'),
      about: textSchema('Where it stands and what it is for.'),
      cables: described(CABLE_COUNT),
      units: {
        description: 'Your name of each sort of module, its kind and what is known of it.',
        ...named({ $ref: '#/definitions/unit' }),
      },
    },
    definitions: {
      unit: {
        type: 'object',
        required: ['kind'],
        properties: { kind: kindSchema(kinds) },
        allOf: kinds.map((definition, index) => ({
          if: { properties: { kind: { const: definition.kind } }, required: ['kind'] },
          [THEN]: unitSchema(definition, `#/definitions/unit/allOf/${index}/${THEN}`),
        })),
      },
      // What all kinds have alike is written once.
      count: described(COUNT),
      position: {
        pattern: '^[-+]?([0-9]+(\\.[0-9]*)?|\\.[0-9]+)$',
        errorMessage: 'A position of the dial, a plain number: 3.4',
      },
      tables: {
        additionalProperties: {
          type: 'object',
          minProperties: 2,
          propertyNames: { $ref: '#/definitions/position' },
        },
      },
      jacks: {
        type: 'object',
        description: `Jacks by name; ${ALL_INPUTS} and ${ALL_OUTPUTS} stand for all of them.`,
        additionalProperties: { $ref: '#/definitions/jack' },
      },
      jack: {
        type: 'object',
        description:
          'What was measured at the jack, and perhaps how far it may be off: 4.6 V +- 0.2 V.',
        additionalProperties: false,
        properties: Object.fromEntries(
          Object.entries({
            ...SWITCH_FACTS,
            ...OUTPUT_FACTS,
            ...TRIGGER_FACTS,
            ...INPUT_FACTS,
            ...PULSE_FACTS,
          }).map(([name, spec]) => [name, measuredSchema(name, spec)]),
        ),
      },
    },
  };
}

/** The schema as the text of a file, in the same order every time. */
export function rackSchemaText(kinds: readonly Definition[]): string {
  return schemaLines(rackSchema(kinds));
}

/** @param at where the schema's file has it, so that a value is described in it once. */
function unitSchema(definition: Definition, at: string): Schema {
  const names = plainNames(definition);
  const specs = names.map((name) => [name, plainSpecOf(definition, name) as PlainSpec] as const);
  const numbers = specs.filter((one): one is [string, NumberSpec] => 'max' in one[1]);
  return {
    description: definition.about,
    additionalProperties: false,
    properties: {
      kind: { const: definition.kind },
      about: textSchema('What to know of it.'),
      count: { $ref: '#/definitions/count' },
      ...(definition.sizes !== undefined && {
        has: {
          type: 'object',
          description: 'How many it has of things that a patch asks for in numbers, such as rows.',
          additionalProperties: false,
          properties: Object.fromEntries(
            Object.entries(definition.sizes).map(([name, size]) => [
              name,
              described(sizeSpec(size)),
            ]),
          ),
        },
      }),
      fixed: {
        type: 'object',
        description: 'Settings that it has no knob for, with the values they have on it.',
        additionalProperties: false,
        properties: Object.fromEntries(specs.map(([name, spec]) => [name, described(spec)])),
      },
      jacks: { $ref: '#/definitions/jacks' },
      dials: {
        type: 'object',
        description: 'What the positions of its knobs stand for.',
        additionalProperties: false,
        allOf: [{ $ref: '#/definitions/tables' }],
        properties: Object.fromEntries(
          numbers.map(([name, spec]) => [
            name,
            {
              description: spec.about,
              additionalProperties: { $ref: `${at}/properties/fixed/properties/${name}` },
            },
          ]),
        ),
      },
    },
  };
}

/** What was measured: a value, of a level perhaps a share of what the settings make it, and how far it may be off. */
function measuredSchema(name: string, spec: NumberSpec): Schema {
  const { pattern, errorMessage, ...schema } = described(spec);
  const values = isLevel(name) ? [pattern, plainSchema(SHARE).pattern] : [pattern];
  const patterns = values.map((one) => `(${String(one).replace(/^\^|\$$/g, '')})`);
  const off = '((±|\\+-|\\+/-)\\s*[0-9.]+\\s*[^\\s0-9]+\\s*)?';
  return { ...schema, pattern: `^(${patterns.join('|')})${off}$`, errorMessage };
}

function described(spec: PlainSpec): Schema {
  return { description: spec.about, ...plainSchema(spec) };
}
