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

describe('a cable that is set for one run', () => {
  const cabled = `modules:
  drums: { kind: rhythm, channels: [a], patterns: { p: { a: x } } }
  hiss: { kind: noise }
  sum: { kind: mixer }
  out: { kind: output }
cables: [hiss.white -> sum.in-1, sum.out -> out.left]
`;
  const problems = (...set: string[]): readonly string[] =>
    readTexts({ ...one('a.yaml', cabled), set }, READ).problems.map(
      ({ code, place, message }) =>
        `${code} ${place.file}:${place.line}:${place.column} ${message}`,
    );

  it('takes an output that no other cable is in, the jack that another set has freed too', () => {
    expect(problems('sum.in-2=hiss.pink')).toEqual([]);
    expect(problems('sum.in-1=hiss.white')).toEqual([]);
    const [freed, taken] = ['sum.in-1=hiss.pink', 'out.right=hiss.white'] as const;
    expect(problems(freed, taken)).toEqual([]);
    expect(problems(taken, freed)).toEqual([]);
  });

  it('is refused at its place where the output has a plug already', () => {
    // design: one output jack takes one plug.
    const why = 'is plugged into sum.in-1 already, and a jack takes one plug';
    expect(problems('out.right=hiss.white')).toEqual([`duplicate --set:1:11 hiss.white ${why}`]);
    expect(problems('seed=b', 'sum.in-2=hiss.pink', 'out.right=hiss.pink')).toEqual([
      expect.stringContaining('duplicate --set:2:10 hiss.pink is plugged into out.right'),
      expect.stringContaining('duplicate --set:3:11 hiss.pink is plugged into sum.in-2'),
    ]);
  });

  it('leaves a file alone that has two plugs in one jack: that plays, and is a finding', () => {
    const doubled = cabled.replace('sum.out ->', 'hiss.white -> sum.in-2, sum.out ->');
    const texts = { ...one('a.yaml', doubled), set: ['out.right=hiss.pink'] };
    expect(readTexts(texts, READ).problems).toEqual([]);
  });
});

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
