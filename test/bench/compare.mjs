/** A comparison on one core and on two: how much of the work is done in parallel. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const title = 'compare: 256 variants of a one-bar closed hat, on one core and on two';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const PATCH = fileURLToPath(new URL('../../patches/closed-hat.yaml', import.meta.url));
const GRID = ['--vary', 'shape.release=40ms..400ms/16', '--vary', 'bright.cutoff=2kHz..9kHz/16'];
const ROUNDS = 3;

export function run() {
  const least = { 1: Number.POSITIVE_INFINITY, 2: Number.POSITIVE_INFINITY };
  for (let round = 0; round < ROUNDS; round++)
    for (const cores of [1, 2]) least[cores] = Math.min(least[cores], wallTime(cores));
  // On a machine with one core there is nothing to win.
  const limit = availableParallelism() >= 2 ? { limit: 1.8, atLeast: true } : {};
  return [
    { what: 'one core', value: least[1] / 1000, unit: 's' },
    { what: 'two cores', value: least[2] / 1000, unit: 's' },
    { what: 'one core : two cores', value: least[1] / least[2], ...limit },
  ];
}

/**
 * Cores are shared out by the clock, so it is the clock that counts here. `taskset` (util-linux) keeps
 * the whole process on so many, since V8 compiles and collects garbage on whatever else is free.
 */
function wallTime(cores) {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const start = performance.now();
    const { status, error, stderr } = spawnSync(
      'taskset',
      [
        ...['-c', cores === 1 ? '0' : '0,1', process.execPath, BIN, 'compare', PATCH, ...GRID],
        ...['--bars', '1', '--jobs', String(cores), '-o', folder, '--quiet'],
      ],
      { encoding: 'utf8' },
    );
    if (status !== 0) throw error ?? new Error(stderr);
    return performance.now() - start;
  } finally {
    rmSync(folder, { recursive: true });
  }
}
