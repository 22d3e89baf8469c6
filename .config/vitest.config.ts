import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';
import { Budget } from './budget.ts';
import { LongestFirst } from './longest-first.ts';
import { PARTS, testParts } from './test-parts.ts';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
const files = testParts(ROOT);

/**
 * A test runs most of what it reaches a few times only, so what V8 spends on optimizing it does not come back: without
 * this an eighth more processor time. Node 20's asks after 66 kB of bytecode whether a function is worth it, and here
 * after 600; the young generation may grow to what a few renders allocate before it is collected.
 */
const V8 = [
  '--max-semi-space-size=64',
  ...(process.versions.node.startsWith('20.') ? ['--interrupt-budget=600000'] : []),
];

const shared = {
  execArgv: V8,
  setupFiles: ['.config/time-taken.ts', 'test/runs.ts', 'test/nothing-left.ts'],
  // Rendering tests work through seconds of audio; the limit is for a hang, not for speed.
  // Packages as Node itself imports them: Vitest's own way looks up each use of one through a proxy.
  deps: { interopDefault: false },
  // A file is read by Vite once for all parts, and once for all runs until it changes.
  experimental: { fsModuleCache: true },
  testTimeout: 120_000,
  hookTimeout: 120_000,
  // A page on a busy machine may take seconds to respond, where the usual wait is one second.
  expect: { poll: { timeout: 20_000, interval: 50 } },
};

export default defineConfig({
  root: ROOT,
  test: {
    // Many tests wait for a command or a browser: with one worker more than there are cores, other tests run meanwhile.
    maxWorkers: availableParallelism() + 1,
    sequence: { sequencer: LongestFirst },
    reporters: [new Budget(), 'default'],
    globalSetup: '.config/temporary.ts',
    projects: PARTS.map((name) => ({
      test: {
        ...shared,
        name,
        include: [...files[name]],
        // Files leave nothing behind, so they share one load of the sources; those of the commands share the
        // process that runs them too, those of the pages a browser.
        isolate: name === 'spying',
        // The last part has the machine to itself, after all others.
        sequence: { groupOrder: name === 'alone' ? 1 : 0 },
      },
    })),
  },
});
