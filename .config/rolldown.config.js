// The command is bundled so that a cold start reads a few files instead of some hundred: see
// "Start-up" in DEVELOPERS.md for the figures. The library (dist/index.js) stays as compiled.
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'rolldown';

// The same package as modules rather than CommonJS: what is not used falls away, and nothing is
// wrapped. Its exports give this form to browsers only.
const YAML = fileURLToPath(new URL('../node_modules/yaml/browser/dist/index.js', import.meta.url));

export default defineConfig({
  input: { forehear: 'dist/cli/main.js' },
  platform: 'node',
  resolve: { alias: { yaml: YAML } },
  output: {
    dir: 'dist/bin',
    format: 'esm',
    chunkFileNames: '[name]-[hash].js',
    cleanDir: true,
    minify: true,
  },
});
