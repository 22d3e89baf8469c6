// A value put at a path of keys: in its place, or added, and the rest of the text as it was.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { applyEdits } from '../../../src/patch/edit/edit.ts';
import { WrittenValues } from '../../../src/patch/edit/written.ts';

function set(text: string, path: readonly string[], value: string): string | undefined {
  return applyEdits('a.yaml', text, [{ type: 'set-value', file: 'a.yaml', path, text: value }]);
}

const DECAY = ['modules', 'shape', 'decay'];

describe('set-value', () => {
  it.each([
    ['in place', 'modules:\n  shape: { decay: 1 s } # c', 'modules:\n  shape: { decay: 2 s } # c'],
    ['in quotes', 'modules:\n  shape: { decay: "1 s" }', 'modules:\n  shape: { decay: 2 s }'],
    [
      'in block style',
      'modules:\n  shape:\n    decay: 1 s # c\n',
      'modules:\n  shape:\n    decay: 2 s # c\n',
    ],
    [
      'folded',
      'modules:\n  shape:\n    decay: >-\n      1\n      s\n    q: 1\n',
      'modules:\n  shape:\n    decay: 2 s\n    q: 1\n',
    ],
    [
      'over two lines',
      'modules:\n  shape:\n    decay: 1\n      s\n    q: 1\n',
      'modules:\n  shape:\n    decay: 2 s\n    q: 1\n',
    ],
    ['empty', 'modules:\n  shape:\n    decay: # c\n', 'modules:\n  shape:\n    decay: 2 s # c\n'],
    ['missing', 'modules:\n  shape: { q: 1 }\n', 'modules:\n  shape: { q: 1, decay: 2 s }\n'],
    [
      'missing in block style',
      'modules:\n  shape:\n    q: 1 # c\n  b: {}\n',
      'modules:\n  shape:\n    q: 1 # c\n    decay: 2 s\n  b: {}\n',
    ],
    [
      'missing with all that leads to it',
      'title: a\n',
      'title: a\nmodules: { shape: { decay: 2 s } }\n',
    ],
    [
      'after a byte-order mark',
      '\uFEFFmodules: { shape: { decay: 1 s } }',
      '\uFEFFmodules: { shape: { decay: 2 s } }',
    ],
    [
      'with two-character line ends',
      'modules:\r\n  shape:\r\n    q: 1\r\n',
      'modules:\r\n  shape:\r\n    q: 1\r\n    decay: 2 s\r\n',
    ],
  ])('puts a value that is %s', (_, before, after) => {
    expect(set(before, DECAY, '2 s')).toBe(after);
  });

  it('gives up where the way leads through a text or the text is no YAML', () => {
    expect(set('modules: x', DECAY, '2 s')).toBeUndefined();
    expect(set('modules: {', DECAY, '2 s')).toBeUndefined();
    expect(set('- a', DECAY, '2 s')).toBeUndefined();
  });

  // Against the `yaml` package's own reading of both texts.
  it('changes that value alone', () => {
    const key = fc.constantFrom('a', 'b', 'c');
    const value = fc.constantFrom('1 s', '"x"', '[1, 2]', '{}', '{ a: 1 }');
    const flow = fc.dictionary(key, value).map(
      (map) =>
        `{ ${Object.entries(map)
          .map(([k, v]) => `${k}: ${v}`)
          .join(', ')} }`,
    );
    const block = fc.dictionary(key, fc.oneof(value, flow), { minKeys: 1 }).map((map) =>
      Object.entries(map)
        .map(([k, v]) => `    ${k}: ${v} # ${k}\n`)
        .join(''),
    );
    const text = fc.oneof(
      block.map((lines) => `top:\n  one:\n${lines}# end\nmore: 1\n`),
      flow.map((map) => `top: { one: ${map} } # end\nmore: 1`),
    );
    fc.assert(
      fc.property(text, fc.array(key, { minLength: 1, maxLength: 2 }), (before, inside) => {
        const path = ['top', 'one', ...inside];
        const after = set(before, path, '2 s');
        fc.pre(after !== undefined);
        const expected = parse(before) as Record<string, unknown>;
        let at = expected;
        for (const step of path.slice(0, -1)) {
          at[step] ??= {};
          at = at[step] as Record<string, unknown>;
        }
        at[path.at(-1) as string] = '2 s';
        const made = after as string;
        expect(parse(made)).toEqual(expected);
        expect(made.match(/#.*/g)).toEqual(before.match(/#.*/g));
        expect(new WrittenValues(made).at(path)).toEqual({ text: '2 s' });
      }),
    );
  });
});
