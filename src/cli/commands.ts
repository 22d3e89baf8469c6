/** Every command, by name. Each is loaded only when it is needed, to keep the start short. */

import type { Command } from 'commander';

export interface CommandModule {
  /** Adds the command, its options and its help to the program. */
  register(program: Command): void;
}

export const COMMANDS: { readonly [name: string]: () => Promise<CommandModule> } = {
  render: () => import('./commands/render.ts'),
  check: () => import('./commands/check.ts'),
  volts: () => import('./commands/volts.ts'),
  survey: () => import('./commands/survey.ts'),
  measure: () => import('./commands/measure.ts'),
  calibrate: () => import('./commands/calibrate.ts'),
  timing: () => import('./commands/timing.ts'),
  tab: () => import('./commands/tab.ts'),
  clock: () => import('./commands/clock.ts'),
  compare: () => import('./commands/compare.ts'),
  fit: () => import('./commands/fit.ts'),
  lesson: () => import('./commands/lesson.ts'),
  listen: () => import('./commands/listen.ts'),
  sheet: () => import('./commands/sheet.ts'),
  new: () => import('./commands/new.ts'),
  kinds: () => import('./commands/kinds.ts'),
  completion: () => import('./commands/completion.ts'),
};
