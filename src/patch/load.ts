/** How a patch comes to the texts of the files that it names. */

import { quoted } from './text/report.ts';

/** A file that is there and is not read. */
export interface Unread {
  /** A clause that follows the file's name, such as "is a folder". */
  readonly why: string;
}

/** Gives the text of a file by its path; undefined if there is none. */
export type Load = (path: string) => string | Unread | undefined;

/**
 * Gives a WAV file by its path: its bytes, or a text that holds them (`data:audio/wav;base64,...`);
 * undefined if there is none.
 */
export type LoadRecording = (path: string) => Uint8Array | string | Unread | undefined;

/** What is wrong where a file is named that gave no text. */
export function unloaded(path: string, got: Unread | undefined): string {
  return got === undefined
    ? `there is no file ${quoted(path)}`
    : `the file ${quoted(path)} ${got.why}`;
}
