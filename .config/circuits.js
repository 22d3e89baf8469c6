// Compiles src/circuits to WebAssembly, and puts its bytes into a module that the engine imports: in a
// page there is no file beside it. The filters of measure, which are in the same language, are a program of their own.
// If the same sources are compiled already, nothing is done.
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const place = (path) => fileURLToPath(new URL(`../${path}`, import.meta.url));
const PROGRAMS = [
  {
    from: 'src/circuits/index.ts',
    wasm: 'dist/circuits.wasm',
    module: 'src/engine/circuits-wasm.ts',
    about: 'The circuits, compiled',
    name: 'CIRCUITS_WASM',
    hasMakers: true,
  },
  {
    from: 'src/circuits/dsp/third-octaves.ts',
    wasm: 'dist/third-octaves.wasm',
    module: 'src/measure/likeness/third-octaves-wasm.ts',
    about: 'The filters of third octaves, compiled',
    name: 'THIRD_OCTAVES_WASM',
    hasMakers: false,
  },
];
/** A program with fewer bytes is written as hexadecimal digits, which need no other module to be read. */
const FEW_BYTES = 2000;

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

async function compileAll(digestOfAll) {
  // A method that is called only from its jump table must not be inlined there: functions of forty circuits are
  // slow to enter, and a feedback cycle enters them for each sample.
  const { default: binaryen } = await import('binaryen');
  const setMost = binaryen._BinaryenSetOneCallerInlineMaxSize;
  binaryen._BinaryenSetOneCallerInlineMaxSize = () => setMost(ONE_CALLER);
  const { default: asc } = await import('assemblyscript/asc');
  const { Makers } = await import('./circuit-makers.js');
  mkdirSync(place('dist'), { recursive: true });
  for (const { from, wasm, module, about, name, hasMakers } of PROGRAMS) {
    const { error, stderr } = await asc.main(
      [from, '--config', '.config/circuits.json', '--outFile', wasm],
      { baseDir: place('.'), transforms: hasMakers ? [new Makers()] : [] },
    );
    process.stderr.write(stderr.toString());
    if (error !== null) process.exit(1);
    const bytes = readFileSync(place(wasm));
    const isSmall = bytes.length < FEW_BYTES;
    const value = isSmall
      ? `Uint8Array.from(\n  DIGITS.match(/../g) ?? [],\n  (two) => Number.parseInt(two, 16),\n)`
      : `bytesOf(\n  '${bytes.toString('base64')}',\n)`;
    const head = isSmall
      ? `const DIGITS =\n  '${bytes.toString('hex')}';\n\n`
      : `import { bytesOf } from '../patch/recording/base64.ts';\n\n`;
    writeFileSync(
      place(module),
      `${head}/** ${about}: written by the build from sources whose digest is ${digestOfAll}. */\nexport const ${name} = /* @__PURE__ */ ${value};\n`,
    );
  }
}

const from = digest();
const isThere = PROGRAMS.every(
  ({ wasm, module }) =>
    [wasm, module].every((path) => existsSync(place(path))) &&
    readFileSync(place(module), 'utf8').includes(from),
);
if (!isThere) await compileAll(from);
if (process.env.npm_config_loglevel !== 'silent') {
  const bytes = readFileSync(place(PROGRAMS[0].wasm));
  process.stdout.write(`circuits: ${bytes.length} bytes, ${gzipSync(bytes).length} compressed\n`);
}
