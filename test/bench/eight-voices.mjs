/** Eight voices of noise, filter and amplifier: the engine against one loop by hand in C. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { seedsFor } from '../../dist/engine/seeds.js';
import { noiseVoices } from './patches.mjs';

export const title = 'Eight voices of noise, filter, amplifier: engine against C by hand (cc -O2)';

const SOURCE = fileURLToPath(new URL('./eight-voices.c', import.meta.url));
const ENGINE = fileURLToPath(new URL('./eight-voices-engine.mjs', import.meta.url));
const VOICES = 8;
const TURNS = 7;
const ROUNDS = 3;
/** Rounding, over the sum of some thousand samples. */
const SAME = 1e-9;

export function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const program = join(folder, 'voices');
    // Without fused multiply-adds: they would be other sums.
    const built = spawnSync('cc', ['-O2', '-ffp-contract=off', '-o', program, SOURCE, '-lm'], {
      encoding: 'utf8',
    });
    if (built.error !== undefined) return [{ what: 'no C compiler (cc) here: left out', value: 0 }];
    if (built.status !== 0) throw new Error(built.stderr);
    const { seed } = noiseVoices(VOICES);
    const seeds = Array.from({ length: VOICES }, (_, k) => [
      ...seedsFor(seed, `n${k + 1}`, 'noise'),
    ]);
    const least = { c: Number.POSITIVE_INFINITY, engine: Number.POSITIVE_INFINITY };
    for (let turn = 0; turn < TURNS; turn++) {
      const c = answer(program, [`${ROUNDS}`, ...seeds.flat().map(String)]);
      const engine = answer(process.execPath, [ENGINE, `${ROUNDS}`]);
      if (!(Math.abs(c.sum - engine.sum) < SAME))
        throw new Error(`they sound different: ${c.sum}, ${engine.sum}`);
      least.c = Math.min(least.c, c.time);
      least.engine = Math.min(least.engine, engine.time);
    }
    return [
      { what: 'C by hand', value: least.c, unit: 'ns/sample' },
      { what: 'engine', value: least.engine, unit: 'ns/sample' },
      { what: 'engine : C by hand', value: least.engine / least.c, limit: 1.25 },
    ];
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** What a program prints: its least time, ns a sample, and the sum that tells its sound. */
function answer(program, args) {
  const { status, stdout, stderr } = spawnSync(program, args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
  const [time, sum] = stdout.split(' ').map(Number);
  return { time, sum };
}
