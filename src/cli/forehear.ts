#!/usr/bin/env node
/**
 * Where the command starts: runs the bundle beside it, from V8's compiled form of it if the build
 * left one. To compile it anew would be a fifth of what a short clip takes. V8 refuses a form that
 * another version of it made, and compiles the text then. The text is ASCII: see the build.
 */

import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Script } from 'node:vm';

const folder = dirname(fileURLToPath(import.meta.url));
const bundle = join(folder, 'command.cjs');
const compiled = join(folder, 'command.cache');

/** The bundle as a script; what it makes of itself can be kept with `createCachedData`. */
export const script = new Script(
  `(function (exports, require, module, __filename, __dirname) {${readFileSync(bundle, 'latin1')}\n})`,
  {
    filename: bundle,
    ...(existsSync(compiled) ? { cachedData: readFileSync(compiled) } : {}),
  },
);
const module = { exports: {} };
script.runInThisContext()(module.exports, createRequire(bundle), module, bundle, folder);
