/** How a command ends: the exit codes that scripts rely on, and errors that carry one. */

import type { ProblemCode } from '../patch/text/problem.ts';

/** 0 done, 1 the check found a fault, 2 the request or the file is wrong, 3 the machine failed; 130 as shells say of Ctrl-C. */
export const EXIT = { done: 0, fault: 1, request: 2, machine: 3, interrupted: 130 } as const;
export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

/** What `--json` calls what went wrong: a problem of a patch's text by its own code. */
export type ErrorCode =
  | ProblemCode
  | 'usage' // words on the command line that the command does not take
  | 'request' // what was asked cannot be done
  | 'machine' // the disk, the network or a permission
  | 'interrupted'
  | 'internal'; // a mistake in Forehear

/** One thing that went wrong, as data. */
export interface Wrong {
  readonly code: ErrorCode;
  /** Without the place. */
  readonly message: string;
  readonly file?: string | undefined;
  /** From 1. */
  readonly line?: number | undefined;
  readonly column?: number | undefined;
  /** What would have been right. */
  readonly expected?: string | undefined;
  /** The nearest legal name. */
  readonly nearest?: string | undefined;
}

/** An end that a person can act on: its message says what, where, why and what to do. */
export class Stop extends Error {
  readonly code: ExitCode;
  readonly wrong: readonly Wrong[];
  /** What was done nevertheless, for `--json`. */
  readonly done: object;

  /** @param wrong the same as data; if not given, the message alone. */
  constructor(code: ExitCode, message: string, wrong?: readonly Wrong[], done: object = {}) {
    super(message);
    this.code = code;
    this.wrong = wrong ?? [{ code: NAMES[code], message }];
    this.done = done;
  }

  /** The same end, after something was done. */
  after(done: object): Stop {
    return new Stop(this.code, this.message, this.wrong, done);
  }
}

const NAMES: { readonly [code in ExitCode]: ErrorCode } = {
  [EXIT.done]: 'internal',
  [EXIT.fault]: 'request',
  [EXIT.request]: 'request',
  [EXIT.machine]: 'machine',
  [EXIT.interrupted]: 'interrupted',
};

/** The request or a file is wrong. */
export function wrongRequest(message: string): Stop {
  return new Stop(EXIT.request, message);
}

/** A file is wrong, at a place in it if that is known. @param message without the place. */
export function wrongFile(
  place: string | Required<Pick<Wrong, 'file' | 'line' | 'column'>>,
  message: string,
): Stop {
  return stopAtFile(EXIT.request, place, message);
}

/** The machine would not give a file. @param message without the file's name. */
export function failedFile(file: string, message: string): Stop {
  return stopAtFile(EXIT.machine, file, message);
}

function stopAtFile(
  exit: ExitCode,
  place: string | Required<Pick<Wrong, 'file' | 'line' | 'column'>>,
  message: string,
): Stop {
  const { file, line, column } =
    typeof place === 'string' ? { file: place, line: undefined, column: undefined } : place;
  const where = line === undefined ? file : `${file}:${line}:${column}`;
  return new Stop(exit, `${where}: ${message}`, [
    { code: NAMES[exit], message, file, line, column },
  ]);
}
