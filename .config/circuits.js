// Compiles src/circuits to WebAssembly, and puts its bytes into a module that the engine imports: in a
// page there is no file beside it. If the same sources are compiled already, nothing is done.
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const place = (path) => fileURLToPath(new URL(`../${path}`, import.meta.url));
const WASM = 'dist/circuits.wasm';
const MODULE = 'src/engine/circuits-wasm.ts';

/** Largest function, in nodes, that is put into its only caller: the compiler's own choice would be 200. */
const ONE_CALLER = 12;

/** A digest of all inputs that determine the bytes. */
function digest() {
  const hash = createHash('sha256');
  const sources = readdirSync(place('src/circuits'), { recursive: true })
    .filter((name) => name.endsWith('.ts'))
    .sort()
    .map((name) => `src/circuits/${name}`);
  for (const path of [
    ...sources,
    '.config/circuit-makers.js',
    '.config/circuits.js',
    '.config/circuits.json',
    'node_modules/assemblyscript/package.json',
  ])
    hash
      .update(`${path}\0`)
      .update(readFileSync(place(path)))
      .update('\0');
  return hash.digest('hex');
}

async function compile(from) {
  // A method that is called only from its jump table must not be inlined there: functions of forty circuits are
  // slow to enter, and a feedback cycle enters them for each sample.
  const { default: binaryen } = await import('binaryen');
  const setMost = binaryen._BinaryenSetOneCallerInlineMaxSize;
  binaryen._BinaryenSetOneCallerInlineMaxSize = () => setMost(ONE_CALLER);
  const { default: asc } = await import('assemblyscript/asc');
  const { Makers } = await import('./circuit-makers.js');
  mkdirSync(place('dist'), { recursive: true });
  const { error, stderr } = await asc.main(
    ['src/circuits/index.ts', '--config', '.config/circuits.json', '--outFile', WASM],
    { baseDir: place('.'), transforms: [new Makers()] },
  );
  process.stderr.write(stderr.toString());
  if (error !== null) process.exit(1);
  writeFileSync(
    place(MODULE),
    `import { bytesOf } from '../patch/recording/base64.ts';\n\n/** The circuits, compiled: written by the build from sources whose digest is ${from}. */\nexport const CIRCUITS_WASM = /* @__PURE__ */ bytesOf(\n  '${readFileSync(place(WASM)).toString('base64')}',\n);\n`,
  );
}

const from = digest();
const isThere = [WASM, MODULE].every((path) => existsSync(place(path)));
if (!isThere || !readFileSync(place(MODULE), 'utf8').includes(from)) await compile(from);
if (process.env.npm_config_loglevel !== 'silent') {
  const bytes = readFileSync(place(WASM));
  process.stdout.write(`circuits: ${bytes.length} bytes, ${gzipSync(bytes).length} compressed\n`);
}
