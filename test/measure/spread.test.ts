// A list that a recording makes long must not be spread into the arguments of a call: from some hundred
// thousand on that overflows the stack.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const SRC = fileURLToPath(new URL('../../src/', import.meta.url));
const files = [
  ...readdirSync(join(SRC, 'measure'), { encoding: 'utf8', recursive: true })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => `measure/${name}`),
  'cli/commands/measure.ts',
  'compare/measures.ts',
  'compare/measure-variant.ts',
];

it.each(files)('%s spreads no list into Math.min, Math.max or push', (name) => {
  const text = readFileSync(join(SRC, name), 'utf8');
  expect(text.match(/(?:Math\.(?:min|max)|\.push)\(\s*\.\.\..*/g) ?? []).toEqual([]);
});
