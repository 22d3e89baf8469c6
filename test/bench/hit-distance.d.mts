/** For the tests, which are typed: see `hit-distance.mjs`. */
export function hitDistance(recorded: Float64Array, made: Float64Array, rate: number): number;
