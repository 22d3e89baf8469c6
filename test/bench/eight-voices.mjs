/** Eight voices of noise, filter and amplifier: the engine against one loop by hand in C. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { answer, byHand } from './eight-voices-c.mjs';

export const title = 'Eight voices of noise, filter, amplifier: engine against C by hand (cc -O2)';

const ENGINE = fileURLToPath(new URL('./eight-voices-engine.mjs', import.meta.url));
const TURNS = 7;
const ROUNDS = 3;
/** Over the sum of some thousand samples: the engine's filter reads its coefficients off a table, C works them out. */
const SAME = 2e-4;

export function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const inC = byHand(folder);
    if (inC === undefined) return [{ what: 'no C compiler (cc) here: left out', value: 0 }];
    const least = { c: Number.POSITIVE_INFINITY, engine: Number.POSITIVE_INFINITY };
    for (let turn = 0; turn < TURNS; turn++) {
      const c = inC(ROUNDS);
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
