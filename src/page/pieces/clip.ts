/** A clip as it is described to a page. */
export interface PageClip {
  readonly name: string;
  /** Beside the page. */
  readonly file: string;
  /** That it is played at, Hz. */
  readonly sampleRate: number;
  /** The file itself, in base 64; without it the page looks for the file beside itself. */
  readonly data?: string;
}
