/** The YAML that a patch may use, the places of its characters, and the limits that protect the reader. */

import { describe, expect, test } from 'vitest';
import type { Node } from '../../../src/patch/text/nodes.ts';
import { Report } from '../../../src/patch/text/report.ts';
import { placeAt, sourceOf } from '../../../src/patch/text/source.ts';
import { readYaml } from '../../../src/patch/text/yaml.ts';

function read(text: string): { value: unknown; faults: string[] } {
  const report = new Report();
  const node = readYaml(sourceOf('a', text), report);
  const faults = report
    .sorted('a')
    .map((one) => `${one.code} ${one.place.line}:${one.place.column}`);
  return { value: node && plain(node), faults };
}

function plain(node: Node): unknown {
  if (node.type === 'text') return node.text;
  if (node.type === 'list') return node.items.map(plain);
  if (node.type === 'map')
    return Object.fromEntries(node.entries.map((e) => [e.key, plain(e.value)]));
  return null;
}

describe('YAML 1.2.2', () => {
  test.each<[string, string, unknown]>([
    ['8.2 block collections', 'a:\n  - b\n  - c: d\n', { a: ['b', { c: 'd' }] }],
    ['7.4 flow collections', '{ a: [b, { c: d }], }', { a: ['b', { c: 'd' }] }],
    ['7.3.3 plain scalars may hold - > | ? inside', 'a: x-x-X|? -> y', { a: 'x-x-X|? -> y' }],
    ['7.3.3 plain scalars may begin with % inside a map', 'a: b%\nc: -x', { a: 'b%', c: '-x' }],
    ['7.3.1 double-quoted escapes', 'a: "\\x41\\u00e9\\n"', { a: 'A\u00E9\n' }],
    ['7.3.2 single quotes double', "a: 'it''s'", { a: "it's" }],
    ['8.1.2 literal block scalar', 'a: |\n  b\n   c\n', { a: 'b\n c\n' }],
    ['8.1.3 folded block scalar', 'a: >\n  b\n  c\n', { a: 'b c\n' }],
    ['6.6 comments', '# c\na: b # d\n', { a: 'b' }],
    [
      '10.1 failsafe: no word is more than text',
      'a: [no, 0x1F, ~, 1e3]',
      { a: ['no', '0x1F', '~', '1e3'] },
    ],
    ['6.8.1 the directive of this version', '%YAML 1.2\n---\na: b\n', { a: 'b' }],
    ['9.1.2 document markers', '---\na: b\n...\n', { a: 'b' }],
    ['5.2 a byte-order mark is no content', '\uFEFFa: b', { a: 'b' }],
    [
      '5.4 line breaks are LF, CRLF and CR',
      'a: b\rc: d\r\ne: f\ng: h',
      { a: 'b', c: 'd', e: 'f', g: 'h' },
    ],
  ])('%s', (_rule, text, value) => {
    expect(read(text)).toEqual({ value, faults: [] });
  });

  test.each<[string, string, string[]]>([
    ['3.2.1.3 keys are unique', 'a: 1\nb: 2\na: 3', ['duplicate 3:1']],
    ['6.1 tabs do not indent', 'a:\n\tb: c', ['syntax 2:1']],
    [
      '6.1 and are told once',
      'a:\n  b: { c: d }\n\te: { f: g }\n  h: { i: j }\n  k: {}',
      ['syntax 3:1'],
    ],
    [
      '8.2.2 as is a first line of another indentation',
      'a:\n   b: c\n  d: e\n  f: g',
      ['syntax 3:1'],
    ],
    ['5.1 control characters are not printable', 'a: b\u0007', ['syntax 1:5']],
    ['5.1 nor are halves of a surrogate pair', 'a: \uD800', ['syntax 1:4']],
    ['9.2 one document is one patch', 'a: b\n---\nc: d', ['syntax 2:1']],
  ])('%s', (_rule, text, faults) => {
    expect(read(text).faults).toEqual(faults);
  });
});

describe('a patch is data', () => {
  test.each<[string, string[]]>([
    ['a: &x [b]\nc: *x', ['syntax 1:4', 'syntax 2:4']],
    ['a: !!str b', ['syntax 1:4']],
    ['a: !<tag:x,1:y> b', ['syntax 1:4']],
    ['a: { <<: { b: c } }', ['syntax 1:6']],
    ['? [a]\n: b', ['syntax 1:3']],
  ])('%j is refused where it stands', (text, faults) => {
    expect(read(text).faults).toEqual(faults);
  });

  test('what is refused costs nothing else of the file', () => {
    expect(read('a: &x b\nc: d').value).toEqual({ a: 'b', c: 'd' });
  });

  test('names of what every object has are keys like any other', () => {
    const { value } = read('constructor: a\ntoString: b\nhasOwnProperty: c');
    expect(value).toEqual({ constructor: 'a', toString: 'b', hasOwnProperty: 'c' });
  });
});

describe('places', () => {
  const placeOf = (text: string, word: string): string => {
    const source = sourceOf('a', text);
    const start = source.text.indexOf(word);
    const { line, column, length } = placeAt(source, start, start + word.length);
    return `${line}:${column}+${length}`;
  };

  test.each<[string, string]>([
    ['one\ntwo X', '2:5+1'],
    ['one\r\ntwo X\r\n', '2:5+1'],
    ['one\rtwo X', '2:5+1'],
    ['\uFEFFX', '1:1+1'],
    ['\tX', '1:2+1'],
    ['🥁 X', '1:4+1'],
    ['\n\n\nX', '4:1+1'],
  ])('in %j', (text, place) => {
    expect(placeOf(text, 'X')).toBe(place);
  });

  test('a place ends with its line', () => {
    expect(placeOf('a: X\nb', 'X\nb')).toBe('1:4+1');
    expect(placeOf('a: X\r\nb', 'X\r\nb')).toBe('1:4+1');
  });

  test('a place past the end is at the end', () => {
    const source = sourceOf('a', 'ab\ncd');
    expect(placeAt(source, 99, 100)).toEqual({ file: 'a', line: 2, column: 3, length: 1 });
  });
});

describe('a text made to exhaust the reader is refused in good time', () => {
  const many = (text: string, length = 400_000): string => text.repeat(length / text.length);
  // A second would be long; the limit leaves room for a busy machine.
  test.each<[string, string]>([
    ['open brackets', many('[')],
    ['open braces', many('{')],
    ['nested lists', many('- ')],
    ['nested keys', Array.from({ length: 600 }, (_, i) => `${' '.repeat(i)}a:\n`).join('')],
    ['complex keys', many('? ')],
    ['closing brackets', many(']')],
    [
      'doubling aliases',
      `a: &a [b, b]\n${Array.from({ length: 40 }, (_, i) => `k${i}: &k${i} [*a, *a]`).join('\n')}`,
    ],
    ['a long text', 'a'.repeat(2_000_001)],
    ['a million words', many('a: 1\n', 2_000_000)],
  ])('%s', (_what, text) => {
    const start = process.cpuUsage();
    const { faults } = read(text);
    expect(faults[0]).toMatch(/^(too-big|syntax)/);
    // Processor time, which other programs hardly change: some 0.5 s at most, and without end if aliases are followed.
    expect(process.cpuUsage(start).user / 1e6).toBeLessThan(10);
  });

  test('thirty-two levels are read, thirty-three are not', () => {
    const nested = (levels: number): string => '['.repeat(levels) + ']'.repeat(levels);
    expect(read(nested(32)).faults).toEqual([]);
    expect(read(nested(33)).faults).toEqual(['too-big 1:33']);
    const block = (levels: number): string =>
      Array.from({ length: levels }, (_, i) => `${' '.repeat(i)}a:`).join('\n');
    expect(read(block(31)).faults).toEqual([]);
    expect(read(block(40)).faults).toEqual(['too-big 33:33']);
  });
});
