/** Standard output: what becomes of a command when it cannot be written to. */

import { outputError } from '../files/output-error.ts';
import { EXIT } from './exit.ts';

/**
 * Ends the process when standard output takes no more: quietly if its reader has stopped early (a pager
 * closed, `head`), which is no failure of ours; with one line otherwise.
 */
export function endWithOutput(): void {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(process.exitCode ?? EXIT.done);
    const { message } = outputError('standard output', error);
    process.stderr.write(`${message}\n`);
    process.exit(EXIT.machine);
  });
  // There is nowhere left to tell it.
  process.stderr.on('error', ({ code }: NodeJS.ErrnoException) => {
    process.exit(code === 'EPIPE' ? (process.exitCode ?? EXIT.done) : EXIT.machine);
  });
}

/** Writes pieces, and waits where the reader is slower, so that memory stays flat. */
export async function print(pieces: Iterable<string | Uint8Array>): Promise<void> {
  for (const piece of pieces)
    if (!process.stdout.write(piece))
      await new Promise((resolve) => process.stdout.once('drain', resolve));
}
