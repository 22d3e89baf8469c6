// A patch's texts, wherever they come from: followed to its files, given whole, or as a string alone.

import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import {
  fileText,
  haveSameTexts,
  loadTexts,
  type PatchTexts,
  readTexts,
  unplayable,
  withText,
} from '../../src/patch/texts.ts';

const PATCHES = new URL('../../patches/', import.meta.url);
const EXAMPLES = readdirSync(PATCHES).filter((name) => name.endsWith('.yaml'));
const READ = { kinds: KINDS };

function onDisk(path: string): string | undefined {
  try {
    return readFileSync(new URL(path, PATCHES), 'utf8');
  } catch {
    return undefined;
  }
}

function one(main: string, text: string): PatchTexts {
  return { main, set: [], texts: { [main]: text } };
}

describe('what is followed to its files', () => {
  it.each(EXAMPLES)('%s says the same when it is read from the texts that were found', (main) => {
    const loaded = loadTexts(one(main, onDisk(main) ?? ''), onDisk, READ);
    expect(loaded.problems).toEqual([]);
    expect(loaded.missing).toEqual([]);
    expect(Object.keys(loaded.texts.texts)[0]).toBe(main);
    for (const [name, text] of Object.entries(loaded.texts.texts)) expect(text).toBe(onDisk(name));
    expect(readTexts(loaded.texts, READ)).toEqual({ patch: loaded.patch, problems: [] });
  });

  it('names what is not there, and so does a reading of the texts', () => {
    const text = 'parts: { hat: nowhere.yaml }\nmodules: { out: { kind: output } }\n';
    const { texts, missing, problems, patch } = loadTexts(one('a.yaml', text), onDisk, READ);
    expect(missing).toEqual(['nowhere.yaml']);
    expect(patch).toBeUndefined();
    expect(problems.map(({ code }) => code)).toEqual(['part']);
    expect(readTexts(texts, READ).problems).toEqual(problems);
  });

  it('takes any file name', () => {
    const text = 'parts: { hat: __proto__ }\nmodules: { out: { kind: output } }\n';
    const part = 'modules: { hiss: { kind: noise } }\n';
    const load = (path: string) => (path === '__proto__' ? part : undefined);
    const { texts, problems } = loadTexts(one('a.yaml', text), load, READ);
    expect(problems).toEqual([]);
    expect(fileText(texts, '__proto__')).toBe(part);
    expect(fileText(texts, 'constructor')).toBeUndefined();
  });
});

describe('unplayable', () => {
  const problemOf = (modules: string) => {
    const { patch } = readTexts(one('a.yaml', `modules:\n${modules}`), READ);
    return patch && unplayable(patch).map(({ code, place }) => [code, place.line]);
  };

  it('wants exactly one output module', () => {
    expect(problemOf('  out: { kind: output }\n')).toEqual([]);
    expect(problemOf('  hiss: { kind: noise }\n')).toEqual([['missing', 1]]);
    expect(problemOf('  out: { kind: output }\n  two: { kind: output }\n')).toEqual([
      ['duplicate', 3],
    ]);
  });
});

describe('texts', () => {
  const files = { main: 'a', set: ['x=1'], texts: { a: '1', b: '2' } };

  it('are told apart', () => {
    expect(haveSameTexts(files, { ...files, texts: { b: '2', a: '1' } })).toBe(true);
    expect(haveSameTexts(files, { ...files, texts: { a: '1' } })).toBe(false);
    expect(haveSameTexts(files, { ...files, texts: { a: '1', c: '2' } })).toBe(false);
    expect(haveSameTexts(files, { ...files, set: [] })).toBe(false);
  });

  it('are given another main text without a change of the others', () => {
    expect(withText(files, '3')).toEqual({ ...files, texts: { a: '3', b: '2' } });
    expect(files.texts.a).toBe('1');
  });
});
