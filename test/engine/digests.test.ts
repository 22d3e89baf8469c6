// The samples of every example, to the bit, as they were when `regression-digests.txt` was last written:
// a change that alters them should not go unnoticed. After an intended change, write them again with
// `npx vitest run --config .config/vitest.config.ts test/engine/digests.test.ts -u`, listen, and say in the
// commit why. Chromium gives the same samples; so do Node 20, 22 and 24 (`print-digests.mjs`).

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';
import { beforeAll, expect, it } from 'vitest';
import { Take } from '../../src/engine/take.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { readPatch } from '../../src/patch/read.ts';
import { PATCHES } from '../cli/run.ts';
import { browsing } from '../page/browser.ts';
import { digests } from './digests.mjs';

const DIGESTS = 'regression-digests.txt';
/** The texts of the examples and of what they load, by name. */
const FILES = Object.fromEntries(
  readdirSync(PATCHES, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => [name, readFileSync(join(PATCHES, name), 'utf8')]),
);
const { plainPage } = browsing();

beforeAll(async () => {});

it('are those on record, here', async () => {
  await expect(digests({ Take, readPatch, KINDS }, FILES)).toMatchFileSnapshot(DIGESTS);
});

it('are those in Chromium', async () => {
  const root = fileURLToPath(new URL('../..', import.meta.url));
  const entry = 'in-a-page';
  const bundle = await rolldown({
    input: entry,
    platform: 'browser',
    resolve: { alias: { yaml: `${root}node_modules/yaml/browser/dist/index.js` } },
    plugins: [
      {
        name: entry,
        resolveId: (id) => (id === entry ? id : null),
        load: (id) =>
          id === entry
            ? `import * as library from '${root}dist/index.js';
import { digests } from '${root}test/engine/digests.mjs';
globalThis.digestsOf = (files) => digests(library, files);`
            : null,
      },
    ],
    logLevel: 'silent',
  });
  const { output } = await bundle.generate({ format: 'iife' });
  const page = await plainPage();
  await page.evaluate(output[0].code);
  const given = await page.evaluate(
    (files) => (globalThis as unknown as { digestsOf(files: object): string }).digestsOf(files),
    FILES,
  );
  await expect(given).toMatchFileSnapshot(DIGESTS);
});
