/**
 * Gives each run of the tests a temporary folder of its own, and takes it away at the end, whatever failed: what tests,
 * the commands that they run and the browsers that they open leave there goes with it.
 */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** Vitest calls it before it starts any worker. @returns what it calls at the end. */
export default function temporary(): () => void {
  const before = process.env.TMPDIR;
  const folder = mkdtempSync(join(tmpdir(), 'forehear-tests-'));
  process.env.TMPDIR = folder;
  return () => {
    if (before === undefined) delete process.env.TMPDIR;
    else process.env.TMPDIR = before;
    // A browser that is being closed may still write.
    rmSync(folder, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 });
  };
}
