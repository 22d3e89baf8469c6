/** Asks `runner-process.mjs` to run the built command, and waits for the result. */

import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, openSync, readSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { deserialize, serialize } from 'node:v8';

const RUNNER = fileURLToPath(new URL('runner-process.mjs', import.meta.url));
const BUNDLE = fileURLToPath(new URL('../../dist/bin/command.cjs', import.meta.url));

interface Asked {
  readonly cwd: string;
  readonly args: readonly string[];
  /** What is on standard input. */
  readonly input: string | Uint8Array;
}

interface Answer {
  readonly status: number;
  readonly stdout: Buffer;
  readonly stderr: Buffer;
  /** Whether the process ends with it, as after `process.exit`. */
  readonly isLast: boolean;
}

/** Its two pipes. */
interface Runner {
  readonly asks: number;
  readonly answers: number;
}

let runner: Runner | undefined;

/** Runs the command. Nothing else of this process goes on meanwhile. */
export function ask(asked: Asked): Answer {
  runner ??= started();
  const body = serialize(asked);
  const head = Buffer.alloc(4);
  head.writeUInt32LE(body.length, 0);
  const bytes = Buffer.concat([head, body]);
  for (let at = 0; at < bytes.length; ) at += writeSync(runner.asks, bytes, at);
  const { answers } = runner;
  const answer = deserialize(received(answers, received(answers, 4).readUInt32LE(0))) as Answer;
  if (answer.isLast) runner = undefined;
  return answer;
}

/** A new one, which ends when this process does, since its pipe is then closed. */
function started(): Runner {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-runner-'));
  const [asks, answers] = [join(folder, 'asks'), join(folder, 'answers')];
  const { status } = spawnSync('mkfifo', [asks, answers]);
  if (status !== 0) throw new Error('the pipes to run the command by could not be made');
  spawn(process.execPath, [RUNNER, BUNDLE, asks, answers], {
    stdio: ['ignore', 'ignore', 'inherit'],
  }).unref();
  // Each waits for the other end to be opened.
  const made = { asks: openSync(asks, 'w'), answers: openSync(answers, 'r') };
  rmSync(folder, { recursive: true });
  return made;
}

function received(descriptor: number, length: number): Buffer {
  const bytes = Buffer.alloc(length);
  for (let at = 0; at < length; ) {
    const got = readSync(descriptor, bytes, at, length - at, null);
    if (got === 0) throw new Error('the process that runs the command has ended by itself');
    at += got;
  }
  return bytes;
}
