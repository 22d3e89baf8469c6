/**
 * What each part of `.ci/run` may take, and what it took: a part that grows is told of before the whole grows too long.
 *
 * It is a message, never a failure: processor time depends on the machine and on what else it does by a third.
 * What fails is told by what was awaited or found, and the whole has a limit where it is judged.
 */

import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import type { Reporter, TestModule, Vitest } from 'vitest/node';
import type { Part } from './test-parts.ts';

/** Besides the parts of the tests: what `.ci/run` times itself, and Vitest's own process, which reads the sources. */
export type Step = Part | 'install' | 'check' | 'benches' | 'runner';

/**
 * s of processor time on a machine of two cores that is busy with this alone: from files of each part that were
 * measured, and the clock of a whole run. Whoever lets a part grow for a reason, or makes one smaller, writes the new
 * figure here.
 */
export const BUDGET: Readonly<Record<Step, number>> = {
  install: 40,
  check: 25,
  benches: 15,
  runner: 35,
  pages: 410,
  commands: 280,
  long: 300,
  core: 140,
  spying: 9,
  alone: 22,
};

/** ms of processor time that {@link yardstick} takes on the machine that the budget is for. */
const USUAL = 100;
/** Less is chance: the same part on the same machine differs as much. */
const BEYOND = 1.15;
/** How many of the dearest files are named. */
const DEAREST = 10;

/** What was measured. */
export interface Taken {
  /** s by step; one that has not ended, or was not run, is missing. */
  readonly steps: ReadonlyMap<string, number>;
  /** s by test file. */
  readonly files: ReadonlyMap<string, number>;
  /** How long this machine takes for what takes the usual one 1 s. */
  readonly slowness: number;
}

/** What is said of it, a line each. */
export function budgetLines({ steps, files, slowness }: Taken): readonly string[] {
  const whole = (seconds: number): string => String(Math.round(seconds)).padStart(5);
  let sum = 0;
  const lines = Object.entries(BUDGET).map(([step, seconds]) => {
    const taken = steps.get(step);
    const budget = seconds * slowness;
    sum += taken ?? 0;
    const told =
      taken === undefined
        ? 'is not known'
        : `${whole(taken)} of ${whole(budget)}${taken > BEYOND * budget ? `: ${Math.round(100 * (taken / budget - 1))} % beyond its budget` : ''}`;
    return `  ${step.padEnd(9)} ${told}`;
  });
  const budget = slowness * Object.values(BUDGET).reduce((a, b) => a + b);
  return [
    `Processor time, s, of the budget in .config/budget.ts times ${slowness.toFixed(2)}, as slow as this machine is now:`,
    ...lines,
    `  ${'all'.padEnd(9)} ${whole(sum)} of ${whole(budget)}`,
    'The dearest test files:',
    ...[...files]
      .toSorted(([, a], [, b]) => b - a)
      .slice(0, DEAREST)
      .map(([file, seconds]) => `  ${whole(seconds)}  ${file}`),
  ];
}

/** Tells of it at the end of a whole run: where `.ci/run` names the folder in which it keeps its own times. */
export class Budget implements Reporter {
  private readonly folder = process.env.STEP_TIMES;
  private readonly steps = new Map<string, number>();
  private readonly files = new Map<string, number>();
  private root = '';

  onInit({ config }: Vitest): void {
    this.root = config.root;
  }

  onTestModuleEnd(module: TestModule): void {
    const seconds = (module.meta().processorTime ?? 0) / 1000;
    this.files.set(relative(this.root, module.moduleId), seconds);
    this.steps.set(module.project.name, (this.steps.get(module.project.name) ?? 0) + seconds);
  }

  /** Vitest's own counts follow it. */
  onTestRunEnd(): void {
    if (this.folder === undefined) return;
    const { user, system } = process.cpuUsage();
    this.steps.set('runner', (user + system) / 1e6);
    for (const step of readdirSync(this.folder)) {
      const times = readFileSync(join(this.folder, step), 'utf8').trim();
      // One that has not ended has written nothing.
      if (times !== '')
        this.steps.set(
          step,
          times.split(' ').reduce((sum, seconds) => sum + Number(seconds), 0),
        );
    }
    const { steps, files } = this;
    const lines = budgetLines({ steps, files, slowness: yardstick() / USUAL });
    process.stdout.write(`\n${lines.join('\n')}\n`);
  }
}

/** @returns ms of processor time for the same sum on whatever machine, the least of some. */
function yardstick(): number {
  const times = Array.from({ length: 5 }, () => {
    const before = process.cpuUsage();
    let sum = 0;
    for (let state = 1, left = 48_000_000; left > 0; left--) {
      // xorshift, 32 bits (Marsaglia 2003): each step waits for the one before.
      state ^= state << 13;
      state ^= state >>> 17;
      state ^= state << 5;
      sum += state & 1;
    }
    if (sum === 0) throw new Error('the yardstick was left out');
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1000;
  });
  return Math.min(...times);
}
