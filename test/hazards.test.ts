// Mistakes that show only with large input or in some folders, and so in no ordinary test: a list put on the
// stack by a spread, a function that calls itself as deep as a user's file goes, a path that a space breaks.

import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { lineAt, type Node, nodesOf } from './syntax.ts';

const ROOT = fileURLToPath(new URL('..', import.meta.url));

function sourcesIn(...folders: readonly string[]): { path: string; text: string }[] {
  return folders.flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && /\.(?:tsx?|[cm]?js)$/.test(entry.name))
      .map((entry) => join(entry.parentPath, entry.name))
      .map((file) => ({ path: relative(ROOT, file), text: readFileSync(file, 'utf8') })),
  );
}

/** What a circuit is made of: as many values as its function in `src/circuits` takes, some twenty. */
const MAKES = /^(?:(?:site|machine|this)\.(?:make|call)\(|call\(\.\.\.values\)$)/;

describe('no program of ours', () => {
  // V8 puts the arguments of a call on the stack: some 120,000 numbers are too many, fewer deep within.
  it('spreads a list into the arguments of a call', () => {
    const found = sourcesIn('src').flatMap(({ path, text }) =>
      [...nodesOf(path, text)]
        .filter(
          ({ node, parent }) =>
            (node.type === 'SpreadElement' &&
              (parent?.type === 'CallExpression' || parent?.type === 'NewExpression')) ||
            (node.type === 'CallExpression' && /\.apply$/.test(excerpt(text, node.callee as Node))),
        )
        .filter(({ node, parent }) => !MAKES.test(excerpt(text, parent ?? node)))
        .map(
          ({ node, parent }) =>
            `${path}:${lineAt(text, node.start)} ${excerpt(text, parent ?? node)}`,
        ),
    );
    expect(found).toEqual([]);
  });

  it('takes a path from an address: %20 is no space to a file system', () => {
    const found = sourcesIn('src', 'test', '.config')
      .filter(({ text }) => text.includes('.pathname'))
      .flatMap(({ path, text }) =>
        [...nodesOf(path, text)]
          .filter(
            ({ node }) =>
              node.type === 'MemberExpression' &&
              /\bimport\.meta\.url\b[^;]*\.pathname$/.test(excerpt(text, node)),
          )
          .map(({ node }) => `${path}:${lineAt(text, node.start)}`),
      );
    expect(found).toEqual([]);
  });
});

function excerpt(text: string, node: Node): string {
  return text.slice(node.start, node.end as number).replace(/\s+/g, ' ');
}

/**
 * Functions that reach themselves by calls, each with what keeps it from going deep. What calls itself
 * through a value, such as a field that holds a function, is not seen.
 */
const BOUNDED: Readonly<Record<string, string>> = {
  'src/circuits/dsp/gaussian.ts:.next': 'a number refused is drawn again: twice in a row is rare',
  'src/circuits/dsp/gaussian.ts:.goOutside': 'as above',
  'src/circuits/envelope.ts:.begin': 'the stages of one envelope, of which none comes back at once',
  'src/circuits/envelope.ts:.finish': 'as above',
  'src/output/diagram/figures.ts:figuresWithin': 'parts within parts: 8 at most',
  'src/page/pieces/player.ts:.sound': 'begins again by a timer',
  'src/patch/rack/assign.ts:.seek': 'each call takes a unit off the list: 500 at most',
  'src/patch/fragment.ts:readFragment': 'parts within parts: 8 at most',
  'src/patch/fragment.ts:readPart': 'as above',
  'src/patch/overrides.ts:withDeep': 'maps within maps: 32 at most',
  'src/patch/units.ts:formatValue': 'a value in its parts: once',
  'src/patch/edit/written.ts:.flow': 'maps within maps: 32 at most',
  'src/patch/words.ts:wordsOfNode': 'maps within maps: 32 at most',
  'src/patch/text/yaml.ts:convert': 'maps within maps: 32 at most',
  'src/patch/text/yaml.ts:mapNode': 'as above',
  ...Object.fromEntries(
    ['at', 'trainAt', 'workOutFrom', 'workOut', 'pulsesOn', 'pulsesOf', 'onsetsOn', 'onsetsOf']
      .map((name) => `.${name}`)
      .concat('meantAt')
      .map((name) => [
        `src/findings/triggers/triggers.ts:${name}`,
        'what is asked for of those before it has been worked out by then',
      ]),
  ),
};

describe('no function of ours', () => {
  it('calls itself as deep as a file goes', () => {
    expect(recursive(sourcesIn('src')).filter((name) => !(name in BOUNDED))).toEqual([]);
  });
});

/** Names of functions from which calls lead back to themselves, as `file:function`. */
function recursive(sources: readonly { readonly path: string; readonly text: string }[]): string[] {
  const calls = new Map<string, Set<string>>();
  for (const { path, text } of sources) {
    const imported = new Map<string, string>();
    const functions: { name: string; node: Node }[] = [];
    const called: { name: string; start: number }[] = [];
    for (const { node, parent } of nodesOf(path, text)) {
      if (node.type === 'ImportSpecifier' && parent !== undefined) {
        const from = (parent.source as { value: string }).value;
        const name = (node.imported as { name: string }).name;
        imported.set((node.local as { name: string }).name, `${join(path, '..', from)}:${name}`);
      }
      const named = functionName(node, parent);
      if (named !== undefined) functions.push({ name: `${path}:${named}`, node });
      const call = calledName(node);
      if (call !== undefined)
        called.push({ name: imported.get(call) ?? `${path}:${call}`, start: node.start });
    }
    for (const { name, start } of called) {
      // A call counts for every function that it stands in.
      for (const { name: caller, node } of functions)
        if (node.start <= start && start < (node.end as number))
          calls.set(caller, (calls.get(caller) ?? new Set()).add(name));
    }
  }
  return [...calls.keys()].filter((name) => reaches(name, calls)).sort();
}

function reaches(name: string, calls: ReadonlyMap<string, ReadonlySet<string>>): boolean {
  const seen = new Set<string>();
  const left = [...(calls.get(name) ?? [])];
  for (let next = left.pop(); next !== undefined; next = left.pop()) {
    if (next === name) return true;
    if (seen.has(next)) continue;
    seen.add(next);
    for (const more of calls.get(next) ?? []) left.push(more);
  }
  return false;
}

function functionName(node: Node, parent: Node | undefined): string | undefined {
  const nameOf = (one: unknown): string | undefined => (one as { name?: string } | null)?.name;
  if (node.type === 'FunctionDeclaration') return nameOf(node.id);
  if (node.type === 'ArrowFunctionExpression' || node.type === 'FunctionExpression') {
    if (parent?.type === 'VariableDeclarator') return nameOf(parent.id);
    if (/^(?:MethodDefinition|PropertyDefinition|Property)$/.test(parent?.type ?? ''))
      return `.${nameOf(parent?.key)}`;
  }
  return undefined;
}

/** What is called by its name, or as a method of `this`. */
function calledName(node: Node): string | undefined {
  if (node.type !== 'CallExpression') return undefined;
  const { type, name, object, property } = node.callee as Node;
  if (type === 'Identifier') return name as string;
  if (type === 'MemberExpression' && (object as Node).type === 'ThisExpression')
    return `.${(property as { name?: string }).name}`;
  return undefined;
}
