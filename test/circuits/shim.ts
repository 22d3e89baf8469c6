// AssemblyScript's words in plain JavaScript, so that a test or a debugger can step through a circuit.
// What works on two samples at once (v128) is tested through the WebAssembly alone.
Object.assign(globalThis, {
  StaticArray: Float64Array,
  f64: (x: number) => x,
  i32: (x: number) => x | 0,
  u32: (x: number) => x >>> 0,
});
