// Compiles src/circuits to WebAssembly, and puts its bytes into a module that the engine imports: in a
// page there is no file beside it.
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import asc from 'assemblyscript/asc';

const place = (path) => fileURLToPath(new URL(`../${path}`, import.meta.url));
const WASM = 'dist/circuits.wasm';

mkdirSync(place('dist'), { recursive: true });
const { error, stderr } = await asc.main(
  ['src/circuits/index.ts', '--config', '.config/circuits.json', '--outFile', WASM],
  { baseDir: place('.') },
);
process.stderr.write(stderr.toString());
if (error !== null) process.exit(1);

const bytes = readFileSync(place(WASM));
writeFileSync(
  place('src/engine/circuits-wasm.ts'),
  `/** The circuits, compiled: written by the build. */\nexport const CIRCUITS_WASM =\n  '${bytes.toString('base64')}';\n`,
);
if (process.env.npm_config_loglevel !== 'silent')
  process.stdout.write(`circuits: ${bytes.length} bytes, ${gzipSync(bytes).length} compressed\n`);
