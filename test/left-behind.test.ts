// That what a test leaves behind is found: one of each sort is planted, and taken away again.

import fc from 'fast-check';
import { expect, it, vi } from 'vitest';
import { leftBehind, stateNow } from './left-behind.ts';

const listener = (): void => {};
const globals = globalThis as unknown as Record<string, unknown>;

const PLANTED: readonly (readonly [what: string, plant: () => void, away: () => void])[] = [
  ['process.env.PLANTED', () => (process.env.PLANTED = 'x'), () => delete process.env.PLANTED],
  ['process.cwd()', () => process.chdir('test'), () => process.chdir('..')],
  ['process.exitCode', () => (process.exitCode = 3), () => (process.exitCode = undefined)],
  [
    'listeners of process for SIGUSR2',
    () => process.on('SIGUSR2', listener),
    () => process.off('SIGUSR2', listener),
  ],
  ['globalThis.planted', () => (globals.planted = 1), () => delete globals.planted],
  ['fake timers', () => vi.useFakeTimers(), () => vi.useRealTimers()],
  [
    'process.stdout.write',
    () => vi.spyOn(process.stdout, 'write').mockReturnValue(true),
    () => vi.restoreAllMocks(),
  ],
  ['Math.random', () => vi.spyOn(Math, 'random'), () => vi.restoreAllMocks()],
  ['process.version', () => vi.spyOn(process, 'version', 'get'), () => vi.restoreAllMocks()],
  [
    'the configuration of fast-check',
    () => fc.configureGlobal({ ...fc.readConfigureGlobal(), numRuns: 7 }),
    () => fc.configureGlobal(usual),
  ],
];
const usual = fc.readConfigureGlobal() ?? {};

it.each(PLANTED)('%s is found, and nothing once it is away', (what, plant, away) => {
  const before = stateNow();
  expect(leftBehind(before, stateNow())).toEqual([]);
  plant();
  const found = leftBehind(before, stateNow());
  away();
  expect(found.map((one) => one.slice(0, what.length))).toContain(what);
  expect(leftBehind(before, stateNow())).toEqual([]);
});
