// The machine's own numbers, as AssemblyScript names them. A file of `dsp` that uses nothing else of the
// language is plain TypeScript, and `src/modules` takes it as it is.

type i32 = number;
type u32 = number;
type f64 = number;
type usize = number;
type bool = boolean;
