/** Figures in words: shares, and the sign of a figure that its own measurement doubts, the same wherever it is shown. */

/** A figure of lower reliability is in doubt: for a time, one standard error is over 7.5 %. */
export const DOUBTED = 0.5;

/** The sign after a figure in doubt. */
const SIGN = '?';

/** The meaning of the sign, for the foot of a table. */
export const DOUBT_NOTE = `${SIGN}: in doubt, measured with a reliability under ${DOUBTED}, of 0 to 1.`;

/** @param reliability from 0 to 1. */
export function isDoubted(reliability: number): boolean {
  return reliability < DOUBTED;
}

/** A figure as it is shown. @param text its value, or `-` for none, which gets no sign. */
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

/** A share as a percentage: `18.8 %`. @param decimals how many, whatever they are. */
export function percentage(share: number, decimals: number): string {
  const text = (100 * share).toFixed(decimals);
  return `${Number(text) === 0 ? text.replace('-', '') : text} %`;
}
