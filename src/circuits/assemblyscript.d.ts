// The words of AssemblyScript that circuits use, for TypeScript's checker and editors. The compiler
// itself (`asc`) knows them, and is stricter: an f64 is no i32 there.

declare function i32(value: number): i32;
declare function u32(value: number): u32;
declare function f64(value: number): f64;
declare function ctz<T>(value: T): i32;
declare function changetype<T>(value: unknown): T;

/** A list of fixed length: a Float64Array when run as JavaScript. */
declare class StaticArray<T> {
  constructor(length: i32);
  readonly length: i32;
  [index: number]: T;
}

declare namespace memory {
  function copy(to: usize, from: usize, bytes: usize): void;
  function fill(to: usize, byte: number, bytes: usize): void;
}

/** 128 bits: two f64 when a circuit works on two samples at a time. */
type v128 = { readonly lanes: unique symbol };
declare function f64x2(lane0: f64, lane1: f64): v128;
declare namespace f64x2 {
  function splat(value: f64): v128;
  function extract_lane(value: v128, lane: i32): f64;
  function replace_lane(value: v128, lane: i32, with_: f64): v128;
  function add(a: v128, b: v128): v128;
  function sub(a: v128, b: v128): v128;
  function mul(a: v128, b: v128): v128;
  function div(a: v128, b: v128): v128;
  function sqrt(a: v128): v128;
  function abs(a: v128): v128;
  function neg(a: v128): v128;
  function pmin(a: v128, b: v128): v128;
  function pmax(a: v128, b: v128): v128;
  function lt(a: v128, b: v128): v128;
  function gt(a: v128, b: v128): v128;
  function ge(a: v128, b: v128): v128;
  function eq(a: v128, b: v128): v128;
  function le(a: v128, b: v128): v128;
  function ceil(a: v128): v128;
  function floor(a: v128): v128;
}
declare namespace i64x2 {
  function bitmask(a: v128): i32;
  function all_true(a: v128): bool;
}
declare namespace v128 {
  function load(address: usize, offset?: usize): v128;
  function load64_splat(address: usize, offset?: usize): v128;
  function store(address: usize, value: v128, offset?: usize): void;
  function shuffle<T>(a: v128, b: v128, lane0: i32, lane1: i32): v128;
  function and(a: v128, b: v128): v128;
  function or(a: v128, b: v128): v128;
  function bitselect(a: v128, b: v128, mask: v128): v128;
  function andnot(a: v128, b: v128): v128;
  function any_true(a: v128): bool;
}
