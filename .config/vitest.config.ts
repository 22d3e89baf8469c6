import { defineConfig } from 'vitest/config';

export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  test: {
    include: ['test/**/*.test.ts'],
    setupFiles: ['test/runs.ts'],
    // Rendering tests work through seconds of audio; the limit is for a hang, not for speed.
    testTimeout: 60_000,
  },
});
