// The command is bundled so that a cold start reads a few files instead of some hundred: see
// "Start-up" in DEVELOPERS.md for the figures. The library (dist/index.js) stays as compiled.
import { defineConfig } from 'rolldown';

export default defineConfig({
  input: { forehear: 'dist/cli/main.js' },
  platform: 'node',
  output: { dir: 'dist/bin', format: 'esm', chunkFileNames: '[name]-[hash].js', cleanDir: true, minify: true },
});
