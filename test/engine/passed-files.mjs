/** Prints the compiled files of which `render` calls a function for the example that is named, one a line. */

import { readFileSync } from 'node:fs';
import { Session } from 'node:inspector/promises';
import * as library from '../../dist/index.js';

const [, , file] = process.argv;
const { patch } = library.readPatch(readFileSync(file, 'utf8'), { file, kinds: library.KINDS });
const session = new Session();
session.connect();
await session.post('Profiler.enable');
await session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: false });
// What has been called so far is counted no more.
await session.post('Profiler.takePreciseCoverage');
library.render(patch);
const { result } = await session.post('Profiler.takePreciseCoverage');
const dist = new URL('../../dist/', import.meta.url).href;
const passed = result.filter(
  ({ url, functions }) =>
    url.startsWith(dist) && functions.some(({ ranges }) => ranges.some(({ count }) => count > 0)),
);
for (const { url } of passed) process.stdout.write(`${url.slice(dist.length)}\n`);
