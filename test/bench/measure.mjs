/** Measuring five minutes of recording: how many times faster than they play. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const title = 'measure: five minutes of sound, hit by hit';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const SECONDS = 300;
const ROUNDS = 5;
/** Six hits a second in stereo, four in mono, and one in mono. */
const SOUNDS = [
  { what: 'dense: the kit of eight, stereo', patch: 'kit-of-eight.yaml', limit: 100 },
  { what: 'dense: the two-bar kit, mono', patch: 'two-bar-kit.yaml', limit: 100 },
  { what: 'sparse: the snare, mono', patch: 'snare.yaml', limit: 100 },
];

export function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const files = SOUNDS.map(({ patch }, index) => {
      const file = join(folder, `${index}.wav`);
      const path = fileURLToPath(new URL(`../../patches/${patch}`, import.meta.url));
      forehear(['render', path, '--seconds', String(SECONDS), '-o', file, '--quiet']);
      return file;
    });
    const least = files.map(() => Number.POSITIVE_INFINITY);
    for (let round = 0; round < ROUNDS; round++)
      files.forEach((file, index) => {
        least[index] = Math.min(least[index], forehear(['measure', file, '--quiet']));
      });
    return SOUNDS.map(({ what, limit }, index) => ({
      what: `real time : time taken, ${what}`,
      value: SECONDS / (least[index] / 1000),
      limit,
      atLeast: true,
    }));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** @returns ms by the clock, the start of the command with it. */
function forehear(args) {
  const start = performance.now();
  const { status, error, stderr } = spawnSync(process.execPath, [BIN, ...args], {
    encoding: 'utf8',
  });
  if (status !== 0) throw error ?? new Error(stderr);
  return performance.now() - start;
}
