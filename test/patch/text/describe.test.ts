/** What a person reads: the place, the line of the file, carets under the right stretch, the help. */

import { expect, test } from 'vitest';
import { describeProblem } from '../../../src/patch/text/describe.ts';
import type { Problem } from '../../../src/patch/text/problem.ts';
import { FILE, patchWith, problemsIn } from '../marked.ts';

/** The described problems of a text. */
function described(text: string): string[] {
  return problemsIn(text).map((problem) => describeProblem(problem, () => text));
}

/** The line of source and the carets of a made-up problem at a stretch of a text. */
function frame(text: string, stretch: string): string[] {
  const start = text.indexOf(stretch);
  const before = text.slice(0, start).split('\n');
  const place = {
    file: FILE,
    line: before.length,
    column: (before.at(-1) as string).length + 1,
    length: stretch.length,
  };
  const problem: Problem = { code: 'unit', place, message: 'm' };
  return describeProblem(problem, () => text)
    .split('\n')
    .slice(1);
}

test('a problem is framed whole', () => {
  expect(described(patchWith('x: { kind: shaper, decay: 55 }'))).toEqual([
    `hat.yaml:6:29: "decay" has no unit
    x: { kind: shaper, decay: 55 }
                              ^^
  expected a time such as 100 ms (or 16 ms tau), from 0 s to 60 s`,
  ]);
});

test('the nearest name is the last line', () => {
  expect(described(patchWith('x: { kind: hiss, cutoff: 7 khz }'))).toEqual([
    `hat.yaml:6:28: there is no unit "khz"
    x: { kind: hiss, cutoff: 7 khz }
                             ^^^^^
  expected a frequency such as 1 kHz, from 5 Hz to 40 kHz
  did you mean kHz?`,
  ]);
});

test('without the source only the words are left', () => {
  const [problem] = problemsIn('modules: 3') as [Problem];
  expect(describeProblem(problem, () => undefined)).toBe(
    `hat.yaml:1:10: "modules" cannot be "3"
  expected a map of modules, such as { hiss: { kind: noise } }`,
  );
});

test('a long line is cut to 80 columns around the place', () => {
  const start = `a: ${'b'.repeat(200)}`;
  const [left, carets] = frame(`${start} HERE`, 'HERE') as [string, string];
  expect(left).toHaveLength(79);
  expect(left).toMatch(/^ {2}…b+ HERE$/);
  expect(carets.indexOf('^')).toBe(left.indexOf('HERE'));
  expect(carets.trim()).toBe('^^^^');

  const [middle, under] = frame(`${start} HERE ${start}`, 'HERE') as [string, string];
  expect(middle).toHaveLength(80);
  expect(middle).toMatch(/^ {2}….*HERE.*…$/);
  expect(under.indexOf('^')).toBe(middle.indexOf('HERE'));

  const [right] = frame(`HERE ${start}`, 'HERE') as [string];
  expect(right).toHaveLength(79);
  expect(right).toMatch(/^ {2}HERE a: b+…$/);
});

test('a stretch longer than the line shown has carets as far as it is shown', () => {
  const [line, carets] = frame(`a: ${'b'.repeat(5000)}`, 'b'.repeat(5000)) as [string, string];
  expect(carets.length).toBeLessThanOrEqual(80);
  expect(line.slice(carets.indexOf('^'), carets.lastIndexOf('^') + 1)).toMatch(/^b+$/);
});

test('a tab is as wide as the spaces it is shown as', () => {
  expect(frame('a\tb: HERE', 'HERE')).toEqual(['  a   b: HERE', '         ^^^^']);
});

// Unicode Standard Annex #11: ideographs and emoji take two columns; combining marks take none.
test('wide characters count two columns and combining marks none', () => {
  expect(frame('a: 太鼓 HERE', 'HERE')).toEqual(['  a: 太鼓 HERE', `${' '.repeat(10)}^^^^`]);
  expect(frame('a: e\u0301 HERE', 'HERE')).toEqual(['  a: e\u0301 HERE', `${' '.repeat(7)}^^^^`]);
  expect(frame('a: 太鼓 b', '太鼓')).toEqual(['  a: 太鼓 b', '     ^^^^']);
  expect(frame('a: 🥁 HERE', 'HERE')).toEqual(['  a: 🥁 HERE', `${' '.repeat(8)}^^^^`]);
});

test('nothing in a file can move the cursor or colour the screen', () => {
  const text = patchWith('x: { kind: "\\e[31m\\u202Ehiss" }');
  const [words] = described(text) as [string];
  expect(words).toContain('there is no kind "\uFFFD[31m\uFFFDhiss"');
  const problem: Problem = {
    code: 'unit',
    place: { file: 'a\u001Bb', line: 1, column: 1, length: 1 },
    message: 'm',
    nearest: 'x\u0007y',
  };
  expect(describeProblem(problem, () => 'q\u001B[31mq')).toBe(
    'a\uFFFDb:1:1: m\n  q\uFFFD[31mq\n  ^\n  did you mean x\uFFFDy?',
  );
});

test('a place at the end of a line has its caret there', () => {
  const place = { file: FILE, line: 1, column: 4, length: 1 };
  const words = describeProblem({ code: 'missing', place, message: 'm' }, () => 'abc\r\nd');
  expect(words).toBe('hat.yaml:1:4: m\n  abc\n     ^');
});
