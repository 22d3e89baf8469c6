// Duplicated code diverges over time: no two places of the sources, or of the tests, share ten lines.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
/** Lines that two places may not share: fewer say nothing of their own, such as a loop over a block. */
const LINES = 10;

/** Lines of code by their numbers: no comments, no imports, no blank lines. */
function codeIn(text: string): (readonly [line: number, code: string])[] {
  const bare = (whole: string): string => whole.replace(/[^\n]/g, '');
  return text
    .replace(/\/\*[\s\S]*?\*\//g, bare)
    .replace(/^import\b(?!\()[^;]*;$/gm, bare)
    .replace(/(^|\s)\/\/.*$/gm, '')
    .split('\n')
    .map((line, index) => [index + 1, line.trim().replace(/\s+/g, ' ')] as const)
    .filter(([, code]) => code !== '');
}

/** Pairs of places of files that share ten lines, at the first of these. */
function twins(files: ReadonlyMap<string, string>): string[] {
  const places = new Map<string, string[]>();
  // Numbers in place of words: places are compared by ten lines at once, each line being in ten of them.
  const numbers = new Map<string, number>();
  const numberOf = (words: string): number => {
    const number = numbers.get(words) ?? numbers.size;
    numbers.set(words, number);
    return number;
  };
  for (const [name, text] of files) {
    const code = codeIn(text).map(([line, words]) => [line, numberOf(words)] as const);
    for (let at = 0; at + LINES <= code.length; at++) {
      let key = '';
      for (let n = at; n < at + LINES; n++) key += `${code[n]?.[1]} `;
      const place = `${name}:${code[at]?.[0]}`;
      const known = places.get(key);
      if (known === undefined) places.set(key, [place]);
      else known.push(place);
    }
  }
  return [...places.values()].filter(({ length }) => length > 1).map((all) => all.join(' and '));
}

function filesIn(folder: string): Map<string, string> {
  const names = readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' });
  return new Map(
    names
      .filter((name) => /\.(?:tsx?|m?js)$/.test(name))
      .map((name) => [`${folder}/${name}`, readFileSync(join(ROOT, folder, name), 'utf8')]),
  );
}

describe('ten lines stand in one place', () => {
  it.each(['src', 'test', '.config'])('%s', (folder) => {
    expect(twins(filesIn(folder))).toEqual([]);
  });

  it('and would be found in two, whatever comments and imports they stand among', () => {
    const lines = Array.from({ length: LINES }, (_, n) => `  step(${n});`);
    const once = ["import { step } from './step';", ...lines].join('\n');
    const again = ['// Again.', ...lines.flatMap((line) => [line, '  // A word.'])].join('\n');
    const files = (all: Record<string, string>): Map<string, string> =>
      new Map(Object.entries(all));
    expect(twins(files({ once, again }))).toEqual(['once:2 and again:2']);
    expect(twins(files({ once, other: again.replace('step(4)', 'step(5)') }))).toEqual([]);
  });
});
