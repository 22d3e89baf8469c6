/**
 * What ends a command from outside: Ctrl-C and the other signals that ask a program to end. Unfinished
 * files are then removed. While there are none, signals keep their default effect, so that they work
 * even in the middle of long arithmetic.
 */

import { constants } from 'node:os';
import { abandonUnfinished, watchUnfinished } from '../files/unfinished.ts';
import { EXIT, Stop } from './exit.ts';

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT'] as const;
type StopSignal = (typeof SIGNALS)[number];

let hasUnfinished = false;
/** What a command does at the first Ctrl-C. */
let asked: (() => void) | undefined;
const heard = new Set<StopSignal>();

/** Makes sure that the process leaves no unfinished file behind, however it ends. */
export function removeUnfinishedAtEnd(): void {
  process.on('exit', abandonUnfinished);
  watchUnfinished((some) => {
    hasUnfinished = some;
    listen();
  });
}

/**
 * Does work that handles the first Ctrl-C itself, by its signal; a second one ends the process at once.
 * @param told called at the first Ctrl-C.
 * @throws what the work throws; the signal's reason is a Stop that says that nothing was written.
 */
export async function interruptible<T>(
  work: (signal: AbortSignal) => Promise<T>,
  told: () => void = () => {},
): Promise<T> {
  const interrupt = new AbortController();
  asked = () => {
    told();
    interrupt.abort(new Stop(EXIT.interrupted, 'Stopped; no file was written.'));
  };
  listen();
  try {
    return await work(interrupt.signal);
  } finally {
    asked = undefined;
    listen();
  }
}

function listen(): void {
  for (const signal of SIGNALS) {
    const isWanted = hasUnfinished || (signal === 'SIGINT' && asked !== undefined);
    if (isWanted === heard.has(signal)) continue;
    if (isWanted) {
      process.on(signal, take);
      heard.add(signal);
    } else {
      process.off(signal, take);
      heard.delete(signal);
    }
  }
}

function take(signal: NodeJS.Signals): void {
  if (signal === 'SIGINT' && asked !== undefined) {
    const stop = asked;
    asked = undefined;
    listen();
    stop();
    return;
  }
  abandonUnfinished();
  // The exit code that shells give for a signal.
  process.exit(128 + constants.signals[signal]);
}
