/**
 * The library that lays block diagrams out, from V8's compiled form of it where an earlier figure has left one beside
 * the thread's bundle: otherwise half of what a small figure takes is compiling a megabyte and a half.
 */

import { readFileSync } from 'node:fs';
import Module, { createRequire } from 'node:module';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Script } from 'node:vm';
import { CompiledForm } from '../../cli/compiled-form.ts';

/**
 * Loads the library, so that `output/diagram/layout` finds it loaded.
 * @returns what keeps its compiled form, to be called when most of what figures need has run; undefined where there
 *   is nothing to keep.
 */
export function loadLibrary(): (() => void) | undefined {
  // V8 takes a form only under the flags that it was made under: one that was made under others would stand in the way.
  if (process.execArgv.length > 0) return undefined;
  const require = createRequire(import.meta.url);
  const path = require.resolve('elkjs/lib/elk.bundled.js');
  const source = readFileSync(path);
  const form = new CompiledForm(dirname(fileURLToPath(import.meta.url)), source, 'diagrams');
  const cachedData = form.read();
  const script = new Script(`(function (exports, require, module) {${source}\n})`, {
    filename: path,
    ...(cachedData && { cachedData }),
  });
  const module = new Module(path);
  script.runInThisContext()(module.exports, createRequire(path), module);
  module.loaded = true;
  require.cache[path] = module;
  return cachedData === undefined ? () => form.keep(script.createCachedData()) : undefined;
}
