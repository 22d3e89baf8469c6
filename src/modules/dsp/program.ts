/** A compiled program at work: an instance of WebAssembly with a memory of its own. */

/** The error where the system has no room for its memory: nothing is wrong with what was asked. */
export const NO_ROOM =
  'no room to render: WebAssembly reserves some 10 GB of addresses for each render, of which it uses little, and the system refused them. Lift the limit on addresses ("ulimit -v unlimited" in the shell, or the limit of the batch system), or let fewer renders run at the same time.';

/** What is used of WebAssembly: Node and browsers both have it, and neither's types are known here. */
const { WebAssembly: wasm } = globalThis as unknown as {
  readonly WebAssembly: {
    readonly Module: new (bytes: Uint8Array) => object;
    readonly Instance: new (module: object, imports: object) => { readonly exports: Exports };
  };
};

/** What a program gives: functions, and its memory. */
export type Exports = Readonly<Record<string, unknown>>;

/** A memory; it moves when it grows. */
export interface ProgramMemory {
  readonly buffer: ArrayBuffer;
}

const compiled = new Map<Uint8Array, object>();

/**
 * Makes an instance. The program is compiled once in a process.
 * @throws Error of {@link NO_ROOM} if there is none for its memory.
 */
export function instanceOf(program: Uint8Array, imports: object): Exports {
  const known = compiled.get(program);
  const made = known ?? new wasm.Module(program);
  if (known === undefined) compiled.set(program, made);
  try {
    return new wasm.Instance(made, imports).exports;
  } catch (error) {
    // What is wrong with the program or its imports gives other errors.
    if (!(error instanceof RangeError)) throw error;
    throw new Error(NO_ROOM, { cause: error });
  }
}
