// Which kinds draw from the seed: those whose circuits ask for seeds say so, and no others, since whoever shares one
// module among two voices must know it.

import { existsSync, readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';

it.each(KINDS.map((definition) => [definition.kind, definition] as const))(
  '%s says whether its circuit draws from the seed',
  (kind, { isSeeded }) => {
    const file = new URL(`../../src/modules/${kind}.ts`, import.meta.url);
    const asks = existsSync(file) && readFileSync(file, 'utf8').includes('site.seeds');
    expect(isSeeded ?? false).toBe(asks);
  },
);
