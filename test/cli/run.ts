/** Runs the built command as a person would, in a folder of its own. */

import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { ask } from './runner.ts';

export const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
export const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));

export interface Ended {
  readonly status: number | null;
  /** What ended it, if that was a signal. */
  readonly signal?: NodeJS.Signals | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** A new empty folder. */
export function scratch(): string {
  return mkdtempSync(join(tmpdir(), 'forehear-test-'));
}

/**
 * Runs `forehear` with arguments; `input` goes to its standard input. It runs in a process that is there
 * for all runs of a test file: see `runner-process.mjs`. `test/cli/main.test.ts` holds the two ways together.
 */
export function forehear(
  cwd: string,
  args: readonly string[],
  input: string | Uint8Array = '',
): Ended {
  const { status, stdout, stderr } = ask({ cwd, args, input });
  return { status, stdout: stdout.toString(), stderr: stderr.toString() };
}

/** The same, with standard output as bytes. */
export function forehearBytes(
  cwd: string,
  args: readonly string[],
): { readonly status: number; readonly stdout: Buffer; readonly stderr: Buffer } {
  return ask({ cwd, args, input: '' });
}

/** The same as {@link forehear} in a process of its own, with pipes for its streams. */
export function forehearAlone(
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

/** Ends what a test has started and not ended, and waits until it has gone. */
export async function endAll(children: ChildProcess[]): Promise<void> {
  await Promise.all(
    children.splice(0).map((child) => {
      if (child.exitCode !== null || child.signalCode !== null) return undefined;
      const gone = new Promise((resolve) => child.once('close', resolve));
      child.kill('SIGKILL');
      return gone;
    }),
  );
}

/** Whether a command has printed a line. */
export const hasPrinted = (stdout: string): boolean => stdout.includes('\n');

/** More than a pipe holds. @see interrupted */
export const MORE_THAN_A_PIPE = '#'.repeat(1 << 20);

/**
 * Starts `forehear` and sends it a signal once it has got as far as `isTime` says.
 * @param isTime is given what it has printed so far, and whether it has read `input`: of what fits into a pipe
 *   nobody can tell.
 * @param input goes to its standard input, which stays open.
 */
export function interrupted(
  cwd: string,
  args: readonly string[],
  isTime: (stdout: string, hasRead: boolean) => boolean,
  input = '',
): Promise<Ended> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [BIN, ...args], { cwd });
    let stdout = '';
    let hasRead = false;
    // One that ends without reading breaks the pipe.
    child.stdin.on('error', () => {});
    child.stdin.write(input, (error) => {
      hasRead = error == null;
    });
    let stderr = '';
    child.stdout.on('data', (data) => {
      stdout += data;
    });
    child.stderr.on('data', (data) => {
      stderr += data;
    });
    const look = setInterval(() => {
      if (!isTime(stdout, hasRead)) return;
      clearInterval(look);
      child.kill('SIGINT');
    }, 50);
    child.on('close', (status, signal) => {
      clearInterval(look);
      resolve({ status, signal, stdout, stderr });
    });
  });
}

/**
 * Starts `forehear` at a terminal of its own, where it shows how far it is, and presses Ctrl-C there.
 * @param isTime is given all that the terminal has shown so far.
 * @returns what the terminal has shown, and the command's status.
 */
export function interruptedAtTerminal(
  cwd: string,
  args: readonly string[],
  isTime: (shown: string) => boolean,
): Promise<{ readonly status: number | null; readonly shown: string }> {
  return new Promise((resolve) => {
    const quoted = [process.execPath, BIN, ...args].map(
      (word) => `'${word.replaceAll("'", "'\\''")}'`,
    );
    // Otherwise it has no width, and every word a line of its own.
    const line = `stty cols 200; exec ${quoted.join(' ')}`;
    const terminal = spawn('script', ['--quiet', '--return', '--command', line, '/dev/null'], {
      cwd,
    });
    let shown = '';
    let isPressed = false;
    terminal.stdout.on('data', (data) => {
      shown += data;
      if (isPressed || !isTime(shown)) return;
      isPressed = true;
      terminal.stdin.write('\u0003');
    });
    terminal.on('close', (status) => resolve({ status, shown }));
  });
}
