/** What is used of WebAssembly: Node and browsers both have it, and neither's types are known here. */
export const { WebAssembly: wasm } = globalThis as unknown as {
  readonly WebAssembly: {
    readonly Module: new (bytes: Uint8Array) => object;
    /** Throws RangeError if the system has no room for its memory. */
    readonly Instance: new (
      module: object,
      imports: object,
    ) => { readonly exports: Readonly<Record<string, unknown>> };
  };
};

/** The memory of a program; it moves when it grows. */
export interface ProgramMemory {
  readonly buffer: ArrayBuffer;
}

/** The error where the system has no room for a program: nothing is wrong with the patch. */
export const NO_ROOM =
  'no room to render: WebAssembly reserves some 10 GB of addresses for each render, of which it uses little, and the system refused them. Lift the limit on addresses ("ulimit -v unlimited" in the shell, or the limit of the batch system), or let fewer renders run at the same time.';
