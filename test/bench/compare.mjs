/** A comparison on one core and on two: how much of it is done in parallel. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';

export const title = 'compare: 256 variants of a one-bar closed hat, one worker and two';

const BIN = new URL('../../dist/bin/forehear.cjs', import.meta.url).pathname;
const PATCH = new URL('../../patches/closed-hat.yaml', import.meta.url).pathname;
const GRID = ['--vary', 'shape.release=40ms..400ms/16', '--vary', 'bright.cutoff=2kHz..9kHz/16'];
const ROUNDS = 3;

export function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const least = { 1: Number.POSITIVE_INFINITY, 2: Number.POSITIVE_INFINITY };
    for (let round = 0; round < ROUNDS; round++)
      for (const jobs of [1, 2]) least[jobs] = Math.min(least[jobs], wallTime(jobs, folder));
    // On a machine with one core there is nothing to win.
    const limit = availableParallelism() >= 2 ? { limit: 1.8, atLeast: true } : {};
    return [
      { what: 'one worker', value: least[1] / 1000, unit: 's' },
      { what: 'two workers', value: least[2] / 1000, unit: 's' },
      { what: 'one worker : two workers', value: least[1] / least[2], ...limit },
    ];
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Two cores are shared out by the clock, so it is the clock that counts here. */
function wallTime(jobs, folder) {
  const start = performance.now();
  const { status, stderr } = spawnSync(
    process.execPath,
    [
      BIN,
      'compare',
      PATCH,
      ...GRID,
      '--bars',
      '1',
      '--jobs',
      String(jobs),
      '-o',
      folder,
      '--quiet',
    ],
    { encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(stderr);
  return performance.now() - start;
}
