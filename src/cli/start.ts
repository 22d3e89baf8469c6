/**
 * Runs the bundle beside it, from V8's compiled form of it where an earlier run has left one. Compiling
 * it again would take a fifth of the time of a short clip. The text is ASCII: see the build.
 */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { setFlagsFromString } from 'node:v8';
import { Script } from 'node:vm';
import { CompiledForm } from './compiled-form.ts';

/** What the bundle exports: see `main.ts`. */
interface Bundle {
  readonly ended?: Promise<string | undefined>;
}

/** Commands that go through most of the code. After one of them its compiled form is worth keeping. */
const THOROUGH = ['render', 'check'];

// How much bytecode a function runs before V8 considers optimizing it; V8's default is 66 kB. A short clip
// is over before that pays, and a long loop gets there some milliseconds later. Set before the text is
// compiled, since V8 takes a compiled form only under the flags that it was made under. Later versions of
// Node do not have the flag, and would print an error.
if (process.versions.node.startsWith('20.')) setFlagsFromString('--interrupt-budget=300000');

const folder = dirname(fileURLToPath(import.meta.url));
const bundle = join(folder, 'command.cjs');
const source = readFileSync(bundle);
const form = new CompiledForm(folder, source);
const cachedData = form.read();

const script = new Script(
  `(function (exports, require, module, __filename, __dirname) {${source.toString('latin1')}\n})`,
  { filename: bundle, ...(cachedData && { cachedData }) },
);
const module: { exports: Bundle } = { exports: {} };
script.runInThisContext()(module.exports, createRequire(bundle), module, bundle, folder);

if (cachedData === undefined)
  void module.exports.ended?.then((command) => {
    if (command !== undefined && THOROUGH.includes(command)) form.keep(script.createCachedData());
  });
