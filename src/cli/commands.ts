/** Every command, by name. Each is loaded only when it is wanted, since a cold start counts. */

import type { Command } from 'commander';

export interface CommandModule {
  /** Adds the command, its options and its help to the program. */
  register(program: Command): void;
}

export const COMMANDS: { readonly [name: string]: () => Promise<CommandModule> } = {
  render: () => import('./render.ts'),
  check: () => import('./check.ts'),
  volts: () => import('./volts.ts'),
  measure: () => import('./measure.ts'),
  timing: () => import('./timing.ts'),
  clock: () => import('./clock.ts'),
  compare: () => import('./compare.ts'),
  fit: () => import('./fit.ts'),
  lesson: () => import('./lesson.ts'),
  listen: () => import('./listen.ts'),
  sheet: () => import('./sheet.ts'),
  new: () => import('./new.ts'),
  kinds: () => import('./kinds.ts'),
};
