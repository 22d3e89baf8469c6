/** The eight voices as one loop by hand in C: the bound of how fast they can be made on this machine. */

import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { seedsFor } from '../../dist/modules/dsp/random.js';
import { noiseVoices } from './patches.mjs';

const SOURCE = fileURLToPath(new URL('./eight-voices.c', import.meta.url));
export const VOICES = 8;

/**
 * Builds it.
 * @returns what plays so many rounds and tells its least time, ns a sample, and the sum of its sound;
 *   undefined where there is no C compiler.
 */
export function byHand(folder) {
  const program = join(folder, 'voices');
  // Without fused multiply-adds: they would be other sums.
  const built = spawnSync('cc', ['-O2', '-ffp-contract=off', '-o', program, SOURCE, '-lm'], {
    encoding: 'utf8',
  });
  if (built.error !== undefined) return undefined;
  if (built.status !== 0) throw new Error(built.stderr);
  const { seed } = noiseVoices(VOICES);
  const seeds = Array.from({ length: VOICES }, (_, k) => [...seedsFor(seed, `n${k + 1}`, 'noise')]);
  return (rounds) => answer(program, [`${rounds}`, ...seeds.flat().map(String)]);
}

/** What a program prints: its least time, ns a sample, and the sum that tells its sound. */
export function answer(program, args) {
  const { status, stdout, stderr } = spawnSync(program, args, { encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
  const [time, sum] = stdout.split(' ').map(Number);
  return { time, sum };
}
