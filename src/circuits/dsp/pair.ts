/** Two samples at a time. */
const RAIL: f64 = 12;
export function pairAt(volts: StaticArray<f64>, i: i32): v128 {
  return v128.load(changetype<usize>(volts) + ((<usize>i) << 3));
}
export function putPair(volts: StaticArray<f64>, i: i32, value: v128): void {
  v128.store(changetype<usize>(volts) + ((<usize>i) << 3), value);
}
export function rails(volts: v128): v128 {
  return f64x2.pmax(f64x2.pmin(volts, f64x2.splat(RAIL)), f64x2.splat(-RAIL));
}
