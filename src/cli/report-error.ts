/** Tells why a command ended: in words on standard error, and with `--json` as data as well. */

import { CommanderError } from 'commander';
import { OutputError } from '../files/output-error.ts';
import { NO_ROOM } from '../modules/dsp/program.ts';
import { EXIT, type ExitCode, Stop, type Wrong } from './exit.ts';
import { sayJson, tell } from './standard-output.ts';

/** @returns the exit code for it. */
export function reportError(error: unknown, isJson: boolean): ExitCode {
  // The help or the version that was asked for.
  if (error instanceof CommanderError && error.exitCode === 0) return EXIT.done;
  const stop = stopOf(error);
  tell(stop.message);
  if (isJson) sayJson({ ...stop.done, errors: stop.wrong.map(asData) });
  if (!(error instanceof Stop || error instanceof OutputError)) trace(error);
  return stop.code;
}

function stopOf(error: unknown): Stop {
  if (error instanceof Stop) return error;
  if (error instanceof OutputError) {
    const { path, message, byPath } = error;
    const code = byPath ? 'request' : 'machine';
    const bare = message.startsWith(`${path}: `) ? message.slice(path.length + 2) : message;
    return new Stop(EXIT[code], message, [{ code, message: bare, file: path }]);
  }
  const what = error instanceof Error ? error.message : String(error);
  // Recognised by its message, since an error from a thread has lost its class.
  if (what.includes(NO_ROOM)) return new Stop(EXIT.machine, `Forehear has ${NO_ROOM}`);
  const message = `Forehear failed: ${what}\nThis is a mistake in Forehear, not in your patch. Please report it with the patch and the command.`;
  return new Stop(EXIT.machine, message, [{ code: 'internal', message }]);
}

/** The shape that scripts rely on; what is not known is null. */
function asData({ code, file, line, column, message, expected, nearest }: Wrong): object {
  return {
    code,
    file: file ?? null,
    line: line ?? null,
    column: column ?? null,
    message,
    expected: expected ?? null,
    nearest: nearest ?? null,
  };
}

function trace(error: unknown): void {
  if (process.env.FOREHEAR_TRACE !== undefined && error instanceof Error) tell(error.stack ?? '');
}
