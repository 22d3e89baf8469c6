/** The sign of a figure that a measure itself doubts: the same wherever one is shown. */

/** What is measured with less reliability is in doubt: of a time, one standard error is over 7.5 %. */
export const DOUBTED = 0.5;

/** What stands behind a figure in doubt. */
const SIGN = '?';

/** What the sign says, for the foot of a table. */
export const DOUBT_NOTE = `${SIGN}: in doubt, measured with a reliability under ${DOUBTED}, of 0 to 1.`;

/** @param reliability from 0 to 1. */
export function isDoubted(reliability: number): boolean {
  return reliability < DOUBTED;
}

/** A figure as it is shown. @param text what it comes to, or `-` where there is none, which no sign follows. */
export function withDoubt(text: string, reliability: number): string {
  return text !== '-' && isDoubted(reliability) ? `${text} ${SIGN}` : text;
}

/** The same within a sentence. */
export function doubtfully(text: string, reliability: number): string {
  return isDoubted(reliability) ? `${text} (in doubt)` : text;
}

/** Whether any of some texts shows the sign. */
export function showsDoubt(texts: readonly string[]): boolean {
  return texts.some((text) => text.endsWith(` ${SIGN}`));
}
