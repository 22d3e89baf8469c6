/** How a command ends: the exit codes that scripts rely on, and errors that carry one. */

/** 0 done, 1 the check found a fault, 2 the request or the file is wrong, 3 the machine failed; 130 as shells say of Ctrl-C. */
export const EXIT = { done: 0, fault: 1, request: 2, machine: 3, interrupted: 130 } as const;
export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

/** An end that a person can act on: its message says what, where, why and what to do. */
export class Stop extends Error {
  readonly code: ExitCode;

  constructor(code: ExitCode, message: string) {
    super(message);
    this.code = code;
  }
}

/** The request or a file is wrong. */
export function wrongRequest(message: string): Stop {
  return new Stop(EXIT.request, message);
}
