/** Where something stands in a file. */

/** A stretch of text in a file; what an error or a finding points at. */
export interface Place {
  readonly file: string;
  /** 1-based. */
  readonly line: number;
  /** 1-based, in UTF-16 code units. */
  readonly column: number;
  /** Code units, at least 1, within the line. */
  readonly length: number;
}
