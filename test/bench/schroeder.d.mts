/** Types for the tests, which are TypeScript. */

export function schroeder(
  samples: Float64Array,
  rate: number,
  onset: number,
): { readonly edt: number | null; readonly t20: number | null; readonly t30: number | null };
