// What is true of a kind is in its definition: nothing outside `modules` asks which kind a module is, by the name
// of the kind, of a jack or of a setting that it alone has. What must name one says here why.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../src/modules/kinds.ts';
import { jacksWith } from '../src/patch/rack/rack.ts';
import { isNode, literal, type Node, nodesOf } from './syntax.ts';

const SOURCES = fileURLToPath(new URL('../src', import.meta.url));

/** Files that name a kind, with what they name, and why a definition cannot say it. */
const NAMED: {
  readonly [file: string]: { readonly names: readonly string[]; readonly why: string };
} = {
  'engine/control-path.ts': {
    names: ['output'],
    why: 'Puts an output where a patch has none, and nothing else has that role.',
  },
  'findings/mend/what-helps.ts': {
    names: ['attenuator', 'comparator'],
    why: 'Proposes modules to put in between, which must be kinds that there are.',
  },
  'findings/triggers/slow-edge.ts': {
    names: ['comparator'],
    why: 'Proposes a comparator, and how its threshold is set.',
  },
  'findings/rules/jack-doubled.ts': {
    names: ['multiple', 'jacks'],
    why: 'Proposes a multiple, and how many jacks it takes.',
  },
  'findings/plan/replug.ts': {
    names: ['multiple'],
    why: 'Puts a multiple in where one output goes to several inputs.',
  },
  'findings/plan/plan.ts': {
    names: ['multiple', 'triggerConverter'],
    why: 'Asks whether one module more would do, of the kinds that moves put in.',
  },
  'findings/plan/sharing-moves.ts': {
    names: ['recording'],
    why: 'Asks a practitioner to let one recording stand in for another, since both are sounds that are struck.',
  },
  'findings/plan/trigger-moves.ts': {
    names: ['triggerConverter', 'voltage-in', 'switch-out'],
    why: 'Puts a converter in front of an envelope that a switch fires.',
  },
  'findings/rules/lengths-drift.ts': {
    names: ['steps'],
    why: 'Proposes a setting where there is one, and asks whether it is used already.',
  },
  'findings/triggers/envelopes.ts': {
    names: ['cut'],
    why: 'The definition says that a course ends at `cut`, where there is such a jack.',
  },
  'fit/built/built.ts': {
    names: ['resonator'],
    why: 'Tells apart the voices that it makes itself.',
  },
  'fit/built/voice-text.ts': {
    names: ['oscillator', 'resonator', 'band'],
    why: 'Writes the text of a voice out of kinds that it chooses.',
  },
  'fit/layer.ts': {
    names: ['band'],
    why: 'Writes a layer into a patch, out of kinds that it chooses.',
  },
  'output/along/suspects.ts': {
    names: ['noise'],
    why: 'Stands in for whatever sounds in place of what was meant.',
  },
  'output/format-reference.ts': {
    names: ['stepSequencer', 'rows'],
    why: 'The reference explains rows by the sequencer that has them.',
  },
};

const KIND_NAMES = new Set(KINDS.map(({ kind }) => kind));
/** The names under which the definitions are imported. */
const IMPORTED = new Set(
  KINDS.map(({ kind }) => kind.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase())),
);
/** The only score and the only output are known by their roles, so what these alone have is theirs. */
const PLAIN = KINDS.filter(({ role }) => role === 'circuit' || role === 'passive');
const ONLY_JACKS = ofOne(PLAIN.map((one) => jacksWith(one, {}).map(({ name }) => name)));
const ONLY_SETTINGS = ofOne(
  KINDS.map(({ settings }) => Object.keys(settings)),
  PLAIN.map(({ settings }) => Object.keys(settings)),
);

/** The names that are in one of the lists alone. @param of the lists that they may be in. */
function ofOne(lists: readonly (readonly string[])[], of = lists): ReadonlySet<string> {
  const all = lists.flatMap((list) => [...new Set(list)]);
  return new Set(of.flat().filter((name) => all.filter((one) => one === name).length === 1));
}

/** The last name of what is compared: of `module.definition.kind` that is `kind`. */
function nameOf(node: unknown): string {
  if (!isNode(node)) return '';
  if (node.type === 'ChainExpression') return nameOf(node.expression);
  if (node.type === 'Identifier') return node.name as string;
  if (node.type === 'MemberExpression') return literal(node.property) ?? nameOf(node.property);
  return '';
}

const isOfKind = (node: unknown): boolean => /kind$/i.test(nameOf(node));
const isOfJack = (node: unknown): boolean => /^(?:jack|name|input|output)$/.test(nameOf(node));
const isOfSettings = (node: unknown): boolean => /settings$/i.test(nameOf(node));

/** What a program asks of one kind. */
function namedIn(path: string, text: string): readonly string[] {
  return [...nodesOf(path, text)].flatMap(({ node, parent }) => askedBy(node, parent));
}

function askedBy(node: Node, parent: Node | undefined): readonly string[] {
  switch (node.type) {
    case 'BinaryExpression': {
      const sides = [node.left, node.right];
      return sides.flatMap((side, at) => {
        const [text, other] = [literal(side) ?? '', sides[1 - at]];
        if (KIND_NAMES.has(text) && isOfKind(other)) return [text];
        if (ONLY_JACKS.has(text) && isOfJack(other)) return [text];
        if (node.operator === 'in' && ONLY_SETTINGS.has(text) && isOfSettings(other)) return [text];
        return [];
      });
    }
    case 'SwitchStatement': {
      if (!isOfKind(node.discriminant)) return [];
      const cases = (node.cases as Node[]).map(({ test }) => literal(test) ?? '');
      return cases.filter((name) => KIND_NAMES.has(name));
    }
    case 'ArrayExpression': {
      const names = (node.elements as unknown[])
        .map((element) => literal(element) ?? '')
        .filter((name) => KIND_NAMES.has(name));
      return names.length > 1 || isAskedOfKind(parent) ? names : [];
    }
    case 'ObjectExpression': {
      const properties = (node.properties as Node[]).filter(
        ({ type, shorthand }) => type === 'Property' && shorthand !== true,
      );
      const keys = properties.map(({ key }) => literal(key) ?? nameOf(key));
      const kinds = keys.filter((key) => KIND_NAMES.has(key));
      const jacks = properties
        .filter(({ key }) => nameOf(key) === 'jack')
        .map(({ value }) => literal(value) ?? '')
        .filter((jack) => ONLY_JACKS.has(jack));
      return [...(kinds.length > 1 ? kinds : []), ...jacks];
    }
    case 'MemberExpression':
      return isOfSettings(node.object) && ONLY_SETTINGS.has(nameOf(node)) ? [nameOf(node)] : [];
    case 'ImportDeclaration':
      return node.importKind !== 'type' && /\/modules\//.test(literal(node.source) ?? '')
        ? (node.specifiers as Node[])
            .map(({ imported }) => nameOf(imported))
            .filter((name) => IMPORTED.has(name))
        : [];
    default:
      return [];
  }
}

/** Whether an array is asked whether it has a kind: `['noise'].includes(kind)`. */
function isAskedOfKind(parent: Node | undefined): boolean {
  return parent?.type === 'MemberExpression' && nameOf(parent) === 'includes';
}

const named = new Map(
  readdirSync(SOURCES, { recursive: true, encoding: 'utf8' })
    .map((path) => path.replaceAll('\\', '/'))
    // Measures know recordings, and no modules.
    .filter((path) => /\.tsx?$/.test(path) && !/^(?:modules|circuits|measure)\//.test(path))
    .map((path) => [path, namedIn(path, readFileSync(join(SOURCES, path), 'utf8'))] as const)
    .filter(([, names]) => names.length > 0)
    .map(([path, names]) => [path, [...new Set(names)].toSorted()] as const),
);

describe('one place for a kind', () => {
  it('is its definition: what names a kind says why', () => {
    const said = Object.entries(NAMED).map(
      ([path, { names }]) => [path, names.toSorted()] as const,
    );
    expect([...named].toSorted()).toEqual(said.toSorted());
    for (const { why } of Object.values(NAMED)) expect(why.length).toBeGreaterThan(20);
  });

  it.each([
    ["if (module.definition.kind === 'logic') f();", 'logic'],
    ["if ('mixer' !== definition?.kind) f();", 'mixer'],
    ["switch (kind) { case 'noise': f(); }", 'noise'],
    ["if (['cluster'].includes(kind)) f();", 'cluster'],
    ["const WET = new Set(['reverberator', 'delay-line']);", 'reverberator', 'delay-line'],
    ["const words = { filter: 'a', ladder: 'b' };", 'filter', 'ladder'],
    ["if (jack.name === 'red') f();", 'red'],
    ["const to = { module, jack: 'switch-in' };", 'switch-in'],
    ['const every = module.settings.divide;', 'divide'],
    ["if ('divide' in settings) f();", 'divide'],
    ["import { stepSequencer } from '../modules/step-sequencer.ts';", 'stepSequencer'],
  ])('finds %s', (text, ...names) => {
    expect(namedIn('planted.ts', text).toSorted()).toEqual(names.toSorted());
  });

  it.each([
    "if (spec.type === 'recording') f();",
    "if (module.definition.role === 'output') f();",
    'const { kind } = definition; if (kind === other.kind) f();',
    "import type { Span } from '../modules/definition.ts';",
  ])('leaves %s', (text) => {
    expect(namedIn('planted.ts', text)).toEqual([]);
  });
});
