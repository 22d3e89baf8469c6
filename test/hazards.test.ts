// What breaks only by size or by place, and so in no ordinary test: a list put on the stack by a spread,
// a function that calls itself as deep as a user's file goes, a path that a space breaks.

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

describe('no program of ours', () => {
  // V8 puts the arguments of a call on the stack: some 120,000 numbers are too many, fewer deep within.
  it('spreads a list into the arguments of a call', () => {
    const found = sourcesIn('src').flatMap(({ path, text }) =>
      [...nodesOf(path, text)]
        .filter(
          ({ node, parent }) =>
            node.type === 'SpreadElement' &&
            (parent?.type === 'CallExpression' || parent?.type === 'NewExpression'),
        )
        .map(
          ({ node, parent }) =>
            `${path}:${lineAt(text, node.start)} ${excerpt(text, parent as Node)}`,
        ),
    );
    expect(found).toEqual([]);
  });

  it('takes a path from an address: %20 is no space to a file system', () => {
    const found = sourcesIn('src', 'test', '.config').flatMap(({ path, text }) =>
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
