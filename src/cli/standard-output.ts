/**
 * All output of commands: words on standard output and standard error, in which no text from a file or
 * the command line can act on a terminal; JSON in one line; bytes. And what a command does when
 * standard output takes no more.
 */

import { outputError } from '../files/output-error.ts';
import { jsonText, printableLines } from '../text/printable.ts';
import { EXIT } from './exit.ts';

/**
 * Ends the process when standard output takes no more: quietly if its reader has stopped early (a pager
 * closed, `head`), which is not a failure; with one line of error otherwise.
 */
export function endWithOutput(): void {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(process.exitCode ?? EXIT.done);
    const { message } = outputError('standard output', error);
    tell(message);
    process.exit(EXIT.machine);
  });
  // There is nowhere left to report it.
  process.stderr.on('error', ({ code }: NodeJS.ErrnoException) => {
    process.exit(code === 'EPIPE' ? (process.exitCode ?? EXIT.done) : EXIT.machine);
  });
}

/** Writes words on standard output, and ends the line. */
export function say(words: string): void {
  process.stdout.write(`${printableLines(words)}\n`);
}

/** Writes words on standard error, and ends the line. */
export function tell(words: string): void {
  process.stderr.write(`${printableLines(words)}\n`);
}

/** Writes an object as JSON, in one line. */
export function sayJson(value: object): void {
  process.stdout.write(`${jsonText(value)}\n`);
}

/**
 * Writes a text that a program will read on standard output, such as a diff: as it is, but on a
 * terminal as {@link say} does.
 */
export function sayExactly(text: string): void {
  process.stdout.write(process.stdout.isTTY ? printableLines(text) : text);
}

/** Writes pieces as they are, and waits where the reader is slower, so that memory does not grow. */
export async function print(pieces: Iterable<string | Uint8Array>): Promise<void> {
  for (const piece of pieces)
    if (!process.stdout.write(piece))
      await new Promise((resolve) => process.stdout.once('drain', resolve));
}
