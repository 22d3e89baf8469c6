// The line that a fit prints where the patch lacks a layer: a shell splits it as it is printed, and the
// command in it adds the layer. For a voice by itself, for one of two that is named, and for one of two that
// is chosen, with the options that it passes on.

import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { shellWord } from '../../../src/cli/shell-word.ts';
import { forehear, scratch } from '../run.ts';

const FOLDER = scratch();
const RHYTHM = 'kind: rhythm, tempo: 40 bpm';
const TOM = `modules:
  drums: { ${RHYTHM}, channels: [tom], patterns: { beat: { tom: "x-------" } } }
  body: { kind: resonator, at-zero: 150 Hz, decay: 120 ms }
  out: { kind: output }
cables: [drums.tom -> body.strike, body.out -> out.left]
`;
const TWO = `modules:
  drums: { ${RHYTHM}, channels: [tick, tom], patterns: { beat: { tick: "----x---", tom: "x-------" } } }
  body: { kind: resonator, at-zero: 150 Hz, decay: 120 ms }
  bar: { kind: resonator, at-zero: 2 kHz, decay: 20 ms }
  both: { kind: mixer }
  out: { kind: output }
cables: [drums.tom -> body.strike, drums.tick -> bar.strike, body.out -> both.in-1, bar.out -> both.in-2, both.out -> out.left]
`;
/** The tom, and a noise that is longer. */
const RECORDED = `modules:
  drums: { ${RHYTHM}, channels: [tom], patterns: { beat: { tom: "x-------" } } }
  split: { kind: multiple, jacks: 3 }
  body: { kind: resonator, at-zero: 150 Hz, decay: 120 ms }
  hiss: { kind: noise }
  fall: { kind: envelope, mode: trigger, decay: 200 ms, release: 200 ms }
  level: { kind: amplifier }
  both: { kind: mixer }
  out: { kind: output }
cables: [drums.tom -> split.in, split.out-1 -> body.strike, split.out-2 -> fall.trigger, hiss.white -> level.in, fall.out -> level.control, body.out -> both.in-1, level.out -> both.in-2, both.out -> out.left]
`;

/** The words of a printed command, as a shell has them. */
function wordsOf(line: string): readonly string[] {
  const script = `forehear() { printf '%s\\n' "$@"; }\n${line}`;
  const { stdout, status } = spawnSync('sh', ['-c', script], { encoding: 'utf8' });
  expect(status).toBe(0);
  return stdout.split('\n').slice(0, -1);
}

beforeAll(() => {
  const put = (name: string, text: string) => writeFileSync(join(FOLDER, name), text);
  mkdirSync(join(FOLDER, 'some voices'));
  put("it's a tom.yaml", TOM);
  put('two.yaml', TWO);
  put('some voices/two.yaml', TWO);
  put('recorded.yaml', RECORDED);
  // A name that is taken is not printed.
  put("it's a tom-fitted-grown.yaml", TOM);
  const args = ['--rate', '12000', '-o', 'take 1.wav', '--quiet'];
  expect(forehear(FOLDER, ['render', 'recorded.yaml', ...args]).status).toBe(0);
});

describe('a word of a printed line', () => {
  it('is the same to a shell, whatever is in it', () => {
    fc.assert(
      fc.property(
        fc.array(fc.string({ minLength: 1 }), { minLength: 100, maxLength: 100 }),
        (texts) => {
          const words = texts.map((text) => text.replaceAll(/[\0\n]/g, '"'));
          expect(wordsOf(`forehear ${words.map(shellWord).join(' ')}`)).toEqual(words);
        },
      ),
      { numRuns: 3 },
    );
  });
});

describe('the line that adds a layer', () => {
  it.each([
    ['of a voice', ["it's a tom.yaml", '--vary', 'body.decay', '--level', '--tries', '20']],
    [
      'of a voice that is named',
      ['two.yaml', '--channel', 'tom', '--vary', 'body.decay', '--tries', '20'],
    ],
    ['of a voice that is chosen', ['some voices', '--tries', '40']],
  ])('is what a shell runs: %s', (_, [file = '', ...options]) => {
    const { status, stdout } = forehear(FOLDER, ['fit', file, 'take 1.wav', ...options]);
    expect(status).toBe(0);
    const [, line] = /To have it added, if [^\n]*:\n +(forehear fit .*)\n/.exec(stdout) ?? [];
    const words = wordsOf(line ?? 'false');
    expect(existsSync(join(FOLDER, words.at(-1) as string))).toBe(false);
    for (const option of options.filter((one) => one.startsWith('--')))
      expect(words).toContain(option);
    const grown = forehear(FOLDER, words);
    expect(grown).toMatchObject({ status: 0, stderr: '' });
    expect(grown.stdout).toMatch(/was\s+added/);
    const text = readFileSync(join(FOLDER, words.at(-1) as string), 'utf8');
    expect(text).toMatch(/layer-sum: \{ kind: mixer/);
  });
});
