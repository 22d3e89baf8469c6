/** A clip as a page is told of it. */
export interface PageClip {
  readonly name: string;
  /** Beside the page. */
  readonly file: string;
  /** Hz. */
  readonly sampleRate: number;
  /** The file itself, in base 64; without it the page looks for it beside itself. */
  readonly data?: string;
}
