/** The first half second of the kit in a process that has just begun, and the next. */

import { spawnSync } from 'node:child_process';

export const title =
  'First half second of the kit of eight in a fresh process, against `node -e 0`';

const ROUNDS = 15;
/** Reads the patch, then renders twice; only that is timed. */
const SCRIPT = `
import { Take } from ${JSON.stringify(new URL('../../dist/index.js', import.meta.url).href)};
import { examplePatch } from ${JSON.stringify(new URL('./patches.mjs', import.meta.url).href)};
const patch = examplePatch('kit-of-eight.yaml');
const render = () => {
  const start = performance.now();
  const take = new Take(patch, {
    sampleRate: 48_000,
    length: { unit: 'seconds', value: 0.5 },
    tail: { unit: 'seconds', value: 0 },
  });
  while (take.read() > 0);
  return performance.now() - start;
};
console.log(render(), render());`;

export function run() {
  const least = { node: Infinity, first: Infinity, next: Infinity };
  for (let round = 0; round < ROUNDS; round++) {
    const start = performance.now();
    answer(['-e', '0']);
    least.node = Math.min(least.node, performance.now() - start);
    const [first, next] = answer(['--input-type=module', '-e', SCRIPT]).split(' ').map(Number);
    least.first = Math.min(least.first, first);
    least.next = Math.min(least.next, next);
  }
  return [
    { what: 'node -e 0', value: least.node, unit: 'ms' },
    { what: 'first half second', value: least.first, unit: 'ms' },
    { what: 'the next render of it', value: least.next, unit: 'ms' },
    { what: 'first : node -e 0', value: least.first / least.node, limit: 0.3 },
    { what: 'next : node -e 0', value: least.next / least.node, limit: 0.15 },
  ];
}

function answer(args) {
  const { status, stdout, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
  return stdout;
}
