// The budget of `.ci/run`: that it counts what a process starts, and says which part has grown.

import { spawn, spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { BUDGET, budgetLines } from '../../.config/budget.ts';
import { processorTime } from '../../.config/processor-time.ts';
import { close } from '../close.ts';

/** Works for so many ms of processor time, says so, and waits for its input to end if it is to stay. */
const working = (ms: number): string =>
  `const end = 1000 * ${ms};
  for (let now = 0; now < end; now = process.cpuUsage().user + process.cpuUsage().system);
  console.log(JSON.stringify(process.cpuUsage()));
  process.stdin.resume();`;

/** ms, as a program has written them down of itself. */
const told = (words: string): number => {
  const { user, system } = JSON.parse(words) as NodeJS.CpuUsage;
  return (user + system) / 1000;
};

const TICKS = {
  abs: 150,
  unit: 'ms',
  why: 'Linux counts in ticks of 10 ms, three times over; this process and the end of the other add some',
};

it.runIf(process.env.CI !== undefined)('is counted where CI runs: its system is Linux', () => {
  expect(process.platform).toBe('linux');
});

describe.runIf(process.platform === 'linux')('processor time', () => {
  it('is also that of a program that has ended', () => {
    const before = processorTime();
    const { stdout } = spawnSync(process.execPath, ['-e', working(600)], { encoding: 'utf8' });
    close(processorTime() - before, told(stdout), TICKS);
  });

  it('is also that of a program that goes on', async () => {
    const before = processorTime();
    const child = spawn(process.execPath, ['-e', working(600)]);
    const ended = new Promise((resolve) => child.on('close', resolve));
    const words = await new Promise<string>((resolve) =>
      child.stdout.once('data', (data) => resolve(String(data))),
    );
    close(processorTime() - before, told(words), TICKS);
    child.stdin.end();
    await ended;
  });
});

describe('the lines of the budget', () => {
  const steps = Object.entries(BUDGET);
  const lines = (factor: number, slowness = 1, left: string | undefined = undefined) =>
    budgetLines({
      steps: new Map(
        steps
          .filter(([step]) => step !== left)
          .map(([step, seconds]) => [step, step === 'long' ? factor * seconds : seconds] as const),
      ),
      files: new Map([
        ['a.test.ts', 3],
        ['b.test.ts', 12],
      ]),
      slowness,
    });
  const beyond = (all: readonly string[]) => all.filter((line) => line.includes('beyond'));

  it('name the part that is beyond its own, by how much, and no other', () => {
    expect(beyond(lines(1.1))).toEqual([]);
    expect(beyond(lines(1.5))).toEqual([expect.stringMatching(/^ {2}long .*: 50 % beyond/)]);
  });

  it('allow a slower machine as much more', () => {
    expect(beyond(lines(1.5, 1.5))).toEqual([]);
    expect(beyond(lines(1, 0.5))).toHaveLength(steps.length);
  });

  it('say what is not known, and the dearest file first', () => {
    const all = lines(1, 1, 'check');
    expect(all.filter((line) => line.includes('not known'))).toEqual(['  check     is not known']);
    expect(all.slice(-2).map((line) => line.trim().replace(/ +/, ' '))).toEqual([
      '12 b.test.ts',
      '3 a.test.ts',
    ]);
  });
});
