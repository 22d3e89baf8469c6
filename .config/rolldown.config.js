// All code that runs is bundled: a cold start reads three files instead of some hundred (see "Start-up" in
// DEVELOPERS.md for the figures), and the installed package has no code that is not reached.
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'rolldown';
import { minifySync } from 'rolldown/utils';

// The same package as modules rather than CommonJS: unused code is dropped, and nothing is
// wrapped. Its exports give this form to browsers only.
const YAML = fileURLToPath(new URL('../node_modules/yaml/browser/dist/index.js', import.meta.url));
// The form that Node loads: the other form, as modules, exports its class by another name.
const WAVEFILE = fileURLToPath(
  new URL('../node_modules/wavefile/dist/wavefile.js', import.meta.url),
);
const CHILD_PROCESS = fileURLToPath(new URL('late-child-process.cjs', import.meta.url));

/** Reads the circuits from the one file that the command and its threads share, instead of holding them. */
const SHARED_CIRCUITS = {
  name: 'shared-circuits',
  load: {
    filter: { id: /\/engine\/circuits-wasm\.js$/ },
    handler: () =>
      "import { readFileSync } from 'node:fs';\n" +
      "export const CIRCUITS_WASM = readFileSync(new URL('./circuits.wasm', import.meta.url));\n",
  },
};

const PACKAGES = ['packages', 'wavefile'];

/** Shortens what others wrote, which is in chunks of its own: whoever reads it reads its own source. */
const SHORT_PACKAGES = {
  name: 'short-packages',
  generateBundle: (_options, bundle) => {
    for (const chunk of Object.values(bundle))
      if (chunk.type === 'chunk' && PACKAGES.includes(chunk.name))
        chunk.code = minifySync(chunk.fileName, chunk.code, { module: true }).code;
  },
};

export default defineConfig([
  {
    // As CommonJS it can be a script whose compiled form V8 keeps; see src/cli/forehear.ts.
    input: { command: 'dist/cli/main.js' },
    platform: 'node',
    plugins: [SHARED_CIRCUITS],
    resolve: { alias: { yaml: YAML, 'node:child_process': CHILD_PROCESS } },
    output: {
      dir: 'dist/bin',
      format: 'cjs',
      entryFileNames: '[name].cjs',
      codeSplitting: false,
      cleanDir: true,
      minify: true,
    },
  },
  {
    input: { forehear: 'dist/cli/forehear.js' },
    platform: 'node',
    output: {
      dir: 'dist/bin',
      format: 'cjs',
      entryFileNames: '[name].cjs',
      chunkFileNames: '[name].cjs',
      minify: true,
    },
  },
  {
    // Our own in its lines and names, since people read the code that they build upon; what its exports are is said
    // once, in their types.
    input: { index: 'dist/index.js', node: 'dist/node.js' },
    platform: 'node',
    plugins: [SHORT_PACKAGES],
    resolve: { alias: { yaml: YAML } },
    output: {
      dir: 'dist/lib',
      format: 'esm',
      chunkFileNames: '[name].js',
      cleanDir: true,
      comments: { jsdoc: false },
      codeSplitting: {
        groups: [
          // Loaded only where a file is written with it.
          { name: 'wavefile', test: /[\\/]node_modules[\\/]wavefile[\\/]/, priority: 1 },
          { name: 'packages', test: /[\\/]node_modules[\\/]/ },
        ],
      },
    },
  },
  // The threads that play, of `compare` and `fit`, share most of their code: see src/compare/crew.ts,
  // src/cli/fit/render-thread.ts.
  {
    input: {
      'compare-worker': 'dist/compare/worker.js',
      'render-worker': 'dist/cli/fit/render-worker.js',
    },
    platform: 'node',
    plugins: [SHARED_CIRCUITS],
    resolve: { alias: { yaml: YAML } },
    output: {
      dir: 'dist/bin',
      format: 'esm',
      entryFileNames: '[name].js',
      chunkFileNames: 'playing-[hash].js',
      minify: true,
    },
  },
  // Those of `measure` and the block diagrams: see src/cli/measure/overall-apart.ts,
  // src/page/host/diagram-thread.ts.
  ...Object.entries({
    'overall-worker': 'dist/cli/measure/overall-worker.js',
    'diagram-worker': 'dist/page/host/diagram-worker.js',
  }).map(([name, entry]) => ({
    input: { [name]: entry },
    platform: 'node',
    plugins: [SHARED_CIRCUITS],
    resolve: { alias: { yaml: YAML } },
    output: { dir: 'dist/bin', format: 'esm', codeSplitting: false, minify: true },
  })),
  // The programs of pages, each a single script that is put into a document: the worksheet's interface and
  // engine, the comparison, the lesson.
  ...Object.entries({
    engine: 'worker/main.ts',
    interface: 'ui/main.tsx',
    comparison: 'comparison/main.tsx',
    lesson: 'lesson/main.tsx',
  }).map(([name, entry]) => ({
    input: { [name]: `src/page/${entry}` },
    platform: 'browser',
    resolve: { alias: { yaml: YAML, wavefile: WAVEFILE } },
    transform: { jsx: { runtime: 'automatic', importSource: 'preact' } },
    output: { dir: 'dist/page', format: 'iife', codeSplitting: false, minify: true },
  })),
]);
