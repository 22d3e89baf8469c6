/** Prints the digests of the examples as the build gives them, on any Node: `npx -y node@22 test/engine/print-digests.mjs`. */

import { readdirSync, readFileSync } from 'node:fs';
import * as library from '../../dist/index.js';
import { digests } from './digests.mjs';

const folder = new URL('../../patches/', import.meta.url);
const names = readdirSync(folder, { recursive: true }).filter((name) => name.endsWith('.yaml'));
const files = names.map((name) => [name, readFileSync(new URL(name, folder), 'utf8')]);
process.stdout.write(digests(library, Object.fromEntries(files)));
