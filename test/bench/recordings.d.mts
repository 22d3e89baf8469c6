/** Types for the tests, which are TypeScript. */

export interface Recording {
  readonly samples: Float64Array;
  /** Hz. */
  readonly rate: number;
}

export const RECORDED: Readonly<Record<string, readonly string[]>>;
export function hasRecordings(): boolean;
export function singleHits(): (Recording & { readonly name: string })[];
export function recording(name: string): Recording;
