// Items of a list added, removed and moved: the text afterwards, and that its comments stay.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { applyEdits, type Edit } from '../../../src/patch/edit/edit.ts';
import { changedList, type ListChange } from '../../../src/patch/edit/list-change.ts';

const PATH = ['modules', 'drums', 'song'];

function changed(text: string, change: ListChange): string | undefined {
  return applyEdits('a.yaml', text, [{ type: 'change-list', file: 'a.yaml', path: PATH, change }]);
}

function songIn(text: string): unknown[] {
  return (parse(text) as { modules: { drums: { song: unknown[] } } }).modules.drums.song;
}

const BLOCK = `modules:
  drums:
    song:
      # the first half
      - opening # soft
      - { pattern: answer, repeats: 2 }
      # the second
      - pattern: push # louder
        tempo: 96 bpm
`;
const FLOW = `modules: { drums: { song: [opening, # soft
  answer, push # last
  ] } }
`;

describe('change-list', () => {
  it.each<readonly [string, ListChange, string]>([
    [
      'a line moves with the comment at its end; those on lines of their own stay',
      { type: 'move', from: 2, to: 0 },
      `modules:
  drums:
    song:
      # the first half
      - pattern: push # louder
        tempo: 96 bpm
      - opening # soft
      # the second
      - { pattern: answer, repeats: 2 }
`,
    ],
    [
      'a line goes, and its comment stays',
      { type: 'remove', at: 0 },
      `modules:
  drums:
    song:
      # the first half
      # soft
      - { pattern: answer, repeats: 2 }
      # the second
      - pattern: push # louder
        tempo: 96 bpm
`,
    ],
    [
      'a line comes in front of another',
      { type: 'insert', at: 2, text: 'answer' },
      `modules:
  drums:
    song:
      # the first half
      - opening # soft
      - { pattern: answer, repeats: 2 }
      # the second
      - answer
      - pattern: push # louder
        tempo: 96 bpm
`,
    ],
  ])('in lines: %s', (_, change, after) => {
    expect(changed(BLOCK, change)).toBe(after);
  });

  it.each<readonly [string, ListChange, string]>([
    [
      'moves',
      { type: 'move', from: 2, to: 0 },
      'modules: { drums: { song: [push, # soft\n  opening, answer # last\n  ] } }\n',
    ],
    [
      'goes',
      { type: 'remove', at: 1 },
      'modules: { drums: { song: [opening, # soft\n  push # last\n  ] } }\n',
    ],
    [
      'comes at the end',
      { type: 'insert', at: 3, text: 'fill' },
      'modules: { drums: { song: [opening, # soft\n  answer, push, fill # last\n  ] } }\n',
    ],
  ])('in brackets: an item %s', (_, change, after) => {
    expect(changed(FLOW, change)).toBe(after);
  });

  it('gives up where there is no list, no such place, or nothing would be left', () => {
    const none: ListChange = { type: 'remove', at: 0 };
    expect(changed('modules: { drums: { song: [a] } }', none)).toBe(undefined);
    expect(changed('modules: { drums: { song: a } }', none)).toBe(undefined);
    expect(changed('modules: { drums: {} }', none)).toBe(undefined);
    for (const change of [
      { type: 'remove', at: 3 },
      { type: 'move', from: 0, to: 3 },
      { type: 'move', from: -1, to: 0 },
      { type: 'insert', at: 4, text: 'a' },
    ] as const)
      expect(changed(FLOW, change)).toBe(undefined);
  });

  it('says what the list is after the change, and keeps every comment, however it is written', () => {
    const item = fc.record({
      name: fc.constantFrom('a', 'b', 'c'),
      form: fc.constantFrom('name', 'braces', 'lines'),
      comment: fc.boolean(),
      above: fc.boolean(),
    });
    fc.assert(
      fc.property(
        fc.array(item, { minLength: 2, maxLength: 6 }),
        fc.boolean(),
        fc.constantFrom('\n', '\r\n'),
        fc.nat(),
        fc.nat(),
        fc.constantFrom('insert', 'remove', 'move'),
        (items, isFlow, end, one, two, type) => {
          const words = items.map(({ name, form }, index) =>
            form === 'name'
              ? name
              : form === 'braces' || isFlow
                ? `{ pattern: ${name}, repeats: ${index + 2} }`
                : `pattern: ${name}${end}        repeats: ${index + 2}`,
          );
          const lines = items.map(({ comment, above }, index) => {
            const over = above ? `      # over ${index}${end}` : '';
            const beside = comment ? ` # beside ${index}` : '';
            const comma = isFlow && index < items.length - 1 ? ',' : '';
            return `${over}      ${isFlow ? '' : '- '}${words[index]}${comma}${beside}`;
          });
          const list = isFlow
            ? `[${end}${lines.join(end)}${end}      ]`
            : `${end}${lines.join(end)}`;
          const text = `modules:${end}  drums:${end}    song: ${list}${end}    tempo: 9 bpm${end}`;
          const [at, to] = [one % items.length, two % items.length];
          const change: ListChange =
            type === 'insert'
              ? { type, at: one % (items.length + 1), text: 'new' }
              : type === 'remove'
                ? { type, at }
                : { type, from: at, to };
          const after = changed(text, change) as string;
          expect(songIn(after)).toEqual(changedList(songIn(text), change, 'new'));
          const comments = (of: string): string[] => (of.match(/# \w+ \d+/g) ?? []).sort();
          expect(comments(after)).toEqual(comments(text));
          expect(after).toMatch(/ {4}tempo: 9 bpm\r?\n$/);
        },
      ),
    );
  });
});

describe('remove-value', () => {
  const without = (text: string, path: readonly string[], stays = 0): string | undefined => {
    const edit: Edit = { type: 'remove-value', file: 'a.yaml', path, stays };
    return applyEdits('a.yaml', text, [edit]);
  };

  it.each([
    ['in braces', 'a: { b: 1, c: 2 } # x', ['a', 'c'], 'a: { b: 1 } # x'],
    ['first in braces', 'a: { b: 1, c: 2 } # x', ['a', 'b'], 'a: { c: 2 } # x'],
    [
      'in lines, where its comment stays',
      'a:\n  b: 1\n  c: 2 # x\n',
      ['a', 'c'],
      'a:\n  b: 1\n  # x\n',
    ],
    [
      'in several lines, where the comments inside it stay',
      'a:\n  b: 1\n  c: # x\n    d: 2 # y\n    # "#z"\n    e: { f: "#", # w\n      g: 3 }\nd: 3\n',
      ['a', 'c'],
      'a:\n  b: 1\n  # x\n  # y\n  # "#z"\n  # w\nd: 3\n',
    ],
    ['in lines, with its line', 'a:\n  b: 1\n  c: 2\nd: 3\n', ['a', 'b'], 'a:\n  c: 2\nd: 3\n'],
    ['at a dash', 'a:\n  - b: 1\n    c: 2\n', ['a', '0', 'b'], 'a:\n  - c: 2\n'],
    [
      'at a dash, with a comment',
      'a:\n  - b: 1 # x\n    c: 2\n',
      ['a', '0', 'b'],
      'a:\n  -  # x\n    c: 2\n',
    ],
    [
      'with the maps that then hold nothing',
      'a: { b: 1, at: { 5: { c: 2 } } }',
      ['a', 'at', '5', 'c'],
      'a: { b: 1 }',
    ],
    [
      'with the next step staying',
      'a: { at: { 5: { c: 2 }, 6: { c: 1 } } }',
      ['a', 'at', '5', 'c'],
      'a: { at: { 6: { c: 1 } } }',
    ],
  ])('takes a value away %s', (_, before, path, after) => {
    expect(without(before, path)).toBe(after);
    expect(() => parse(after)).not.toThrow();
  });

  it('leaves what is to stay, and gives up where there is nothing', () => {
    expect(without('a: { b: { c: 1 } }', ['a', 'b', 'c'], 2)).toBe('a: { b: {  } }');
    expect(without('a: 1', ['b'])).toBe(undefined);
    expect(without('a: 1', ['a', 'b'])).toBe(undefined);
  });
});

describe('set-value in a song', () => {
  it.each([
    ['song: [a, b]', 'song: [a, { pattern: b, tempo: 9 bpm }]'],
    ['song: [a, { pattern: b }]', 'song: [a, { pattern: b, tempo: 9 bpm }]'],
    ['song: [a, { pattern: b, tempo: 8 bpm }]', 'song: [a, { pattern: b, tempo: 9 bpm }]'],
  ])('%s', (before, after) => {
    const file = (song: string): string => `modules: { drums: { ${song} } } # c`;
    const edit: Edit = {
      type: 'set-value',
      file: 'a.yaml',
      path: [...PATH, '1', 'tempo'],
      text: '9 bpm',
    };
    expect(applyEdits('a.yaml', file(before), [edit])).toBe(file(after));
  });
});
