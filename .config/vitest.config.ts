import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

// What leaves for the loudspeaker is recorded in real time, which a busy machine cannot do.
const ALONE = ['test/page/play.test.ts'];

const shared = {
  setupFiles: ['test/runs.ts'],
  // Rendering tests work through seconds of audio; the limit is for a hang, not for speed.
  testTimeout: 120_000,
  hookTimeout: 120_000,
  // A page on a busy machine may take seconds to answer a hand, where the usual wait is one.
  expect: { poll: { timeout: 20_000, interval: 50 } },
};

export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    // Many tests wait for a command or a browser; a worker a core lets others go on meanwhile.
    maxWorkers: '100%',
    projects: [
      {
        test: {
          ...shared,
          name: 'all',
          include: ['test/**/*.test.ts'],
          exclude: ALONE,
          sequence: { groupOrder: 0 },
        },
      },
      {
        test: { ...shared, name: 'alone', include: ALONE, sequence: { groupOrder: 1 } },
      },
    ],
  },
});
