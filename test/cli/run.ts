/** Runs the built command as a person would, in a folder of its own. */

import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const BIN = new URL('../../dist/bin/forehear.cjs', import.meta.url).pathname;
export const PATCHES = new URL('../../patches/', import.meta.url).pathname;

export interface Ended {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** A new empty folder. */
export function scratch(): string {
  return mkdtempSync(join(tmpdir(), 'forehear-test-'));
}

/** Runs `forehear` with arguments; `input` goes to its standard input. */
export function forehear(
  cwd: string,
  args: readonly string[],
  input: string | Uint8Array = '',
): Ended {
  const { status, stdout, stderr } = spawnSync(process.execPath, [BIN, ...args], {
    cwd,
    input,
    encoding: 'utf8',
    maxBuffer: 1 << 28,
  });
  return { status, stdout, stderr };
}

/** Starts `forehear` and sends it a signal after so many ms. */
export function interrupted(cwd: string, args: readonly string[], after: number): Promise<Ended> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [BIN, ...args], { cwd });
    let stdout = '';
    let stderr = '';
    child.stdout.on('data', (data) => {
      stdout += data;
    });
    child.stderr.on('data', (data) => {
      stderr += data;
    });
    child.on('close', (status) => resolve({ status, stdout, stderr }));
    setTimeout(() => child.kill('SIGINT'), after);
  });
}
