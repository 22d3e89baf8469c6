// A process that runs the built command many times, for the tests: starting Node and compiling the
// command takes most of the time of a short run. Each run is a whole program, with no state of an earlier one:
// the bundle is evaluated again, has the arguments, the folder, the standard streams and the exit code of
// a process to itself, and ends as a process does, when nothing is left to wait for.
//
// It is called by `runner.ts` through one named pipe, and answers through another; each message is its length in four
// bytes, then its bytes from `v8.serialize`.

import {
  closeSync,
  createReadStream,
  mkdtempSync,
  openSync,
  readFileSync,
  readSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { Writable } from 'node:stream';
import { deserialize, serialize, setFlagsFromString } from 'node:v8';
import { Script } from 'node:vm';

const [bundle, askedBy, answersTo] = process.argv.slice(2);
const asks = openSync(askedBy, 'r');
const answers = openSync(answersTo, 'w');

// As src/cli/start does.
if (process.versions.node.startsWith('20.')) setFlagsFromString('--interrupt-budget=300000');
const program = new Script(
  `(function (exports, require, module, __filename, __dirname) {${readFileSync(bundle, 'latin1')}\n})`,
  { filename: bundle },
);

// What V8 makes of the circuits has no state: each run has instances of its own. Whatever else a run may compile is new.
const Compiled = WebAssembly.Module;
const circuits = readFileSync(join(dirname(bundle), 'circuits.wasm'));
let compiled;
WebAssembly.Module = function Module(bytes) {
  if (!circuits.equals(bytes)) return new Compiled(bytes);
  compiled ??= new Compiled(circuits);
  return compiled;
};

const exit = process.exit.bind(process);
const ownListeners = new Map();
let output = { stdout: [], stderr: [] };
let isRunning = false;

process.exit = (code = process.exitCode) => {
  process.exitCode = code;
  end(true);
  exit(0);
};
// What Node says of an error that nobody catches, and how it ends.
process.on('uncaughtException', (error) => {
  output.stderr.push(Buffer.from(`Uncaught ${error?.stack ?? error}\n`));
  process.exit(1);
});
// Nothing is left to wait for: here a process of its own would end.
process.on('beforeExit', () => {
  if (isRunning) end(false);
  const asked = receive();
  // Whoever asked has ended.
  if (asked === undefined) exit(0);
  setImmediate(() => begin(asked));
});
for (const name of process.eventNames()) ownListeners.set(name, process.listeners(name));

function begin({ cwd, args, input }) {
  isRunning = true;
  output = { stdout: [], stderr: [] };
  process.chdir(cwd);
  process.argv = [process.execPath, bundle, ...args];
  process.exitCode = undefined;
  standInput(input);
  for (const name of ['stdout', 'stderr']) {
    const stream = new Writable({
      write(piece, _, done) {
        output[name].push(piece);
        done();
      },
    });
    Object.defineProperty(process, name, { value: stream, configurable: true });
  }
  const module = { exports: {} };
  program.runInThisContext()(
    module.exports,
    createRequire(bundle),
    module,
    bundle,
    dirname(bundle),
  );
}

/** Puts a file in the place of standard input: what is opened has the lowest number that is free. */
function standInput(input) {
  closeSync(0);
  if (input.length === 0) openSync('/dev/null', 'r');
  else {
    const folder = mkdtempSync(join(tmpdir(), 'forehear-stdin-'));
    writeFileSync(join(folder, 'stdin'), input);
    openSync(join(folder, 'stdin'), 'r');
    rmSync(folder, { recursive: true });
  }
  let stream;
  Object.defineProperty(process, 'stdin', {
    get: () => {
      stream ??= createReadStream('', { fd: 0, autoClose: false });
      return stream;
    },
    configurable: true,
  });
}

/** Ends a run: calls what listens for the end of the process, then removes all listeners. */
function end(isLast) {
  const status = process.exitCode ?? 0;
  for (const name of process.eventNames())
    for (const listener of process.listeners(name)) {
      if (ownListeners.get(name)?.includes(listener)) continue;
      if (name === 'exit') listener(status);
      process.off(name, listener);
    }
  isRunning = false;
  process.exitCode = undefined;
  const { stdout, stderr } = output;
  send({ status, stdout: Buffer.concat(stdout), stderr: Buffer.concat(stderr), isLast });
}

function receive() {
  const head = receiveBytes(4);
  return head && deserialize(receiveBytes(head.readUInt32LE(0)));
}

/** Undefined once nobody can write any more. */
function receiveBytes(length) {
  const bytes = Buffer.alloc(length);
  for (let at = 0; at < length; ) {
    const got = readSync(asks, bytes, at, length - at, null);
    if (got === 0) return undefined;
    at += got;
  }
  return bytes;
}

function send(message) {
  const body = serialize(message);
  const head = Buffer.alloc(4);
  head.writeUInt32LE(body.length, 0);
  const bytes = Buffer.concat([head, body]);
  for (let at = 0; at < bytes.length; ) at += writeSync(answers, bytes, at);
}
