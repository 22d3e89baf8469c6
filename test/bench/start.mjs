/** A cold command against Node alone. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const title = 'A 4-second clip from a cold command against `node -e 0`';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const HAT = fileURLToPath(new URL('../../patches/closed-hat.yaml', import.meta.url));
const KIT = fileURLToPath(new URL('../../patches/kit-of-eight.yaml', import.meta.url));
const ROUNDS = 15;

export function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const clip = join(folder, 'clip.wav');
    const commands = {
      node: ['-e', '0'],
      hat: [BIN, 'render', HAT, '--seconds', '4', '-o', clip, '--quiet'],
      kit: [BIN, 'render', KIT, '--seconds', '4', '-o', clip, '--quiet'],
      kinds: [BIN, 'kinds', 'envelope'],
    };
    const least = {};
    for (let round = 0; round < ROUNDS; round++)
      for (const [name, args] of Object.entries(commands))
        least[name] = Math.min(least[name] ?? Number.POSITIVE_INFINITY, wallTime(args));
    return [
      { what: 'node -e 0', value: least.node, unit: 'ms' },
      { what: 'render 4 s of the hat', value: least.hat, unit: 'ms' },
      { what: 'render 4 s of the kit', value: least.kit, unit: 'ms' },
      { what: 'hat, 4 s : node -e 0', value: least.hat / least.node, limit: 2 },
      { what: 'kit, 4 s : node -e 0', value: least.kit / least.node, limit: 2.8 },
      { what: 'kinds envelope : node -e 0', value: least.kinds / least.node },
    ];
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function wallTime(args) {
  const start = performance.now();
  const { status, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
  return performance.now() - start;
}
