/** Types for the tests, which are TypeScript. */

export const RATE: number;
export function sequence(seed: number): {
  readonly samples: Float64Array;
  readonly times: readonly number[];
};
export function compared(
  found: readonly number[],
  times: readonly number[],
  within: number,
): { readonly hit: number; readonly missed: number; readonly extra: number };
