/**
 * Texts that came from a person, a file or a file's name, made safe to hand on. A terminal acts on
 * control characters, a reader is misled by marks that turn the direction of writing, and neither XML
 * nor MIDI nor RIFF has a place for half a surrogate pair. Each becomes U+FFFD.
 *
 * Source: general categories of Unicode; Char of XML 1.0, which also leaves out U+FFFE and U+FFFF. The
 * joiners U+200C and U+200D stay: words in several scripts, and emoji, are written with them.
 */

const UNSAFE = /[\p{Cc}\p{Zl}\p{Zp}\p{Cs}\uFFFE\uFFFF]|(?![\u200C\u200D])\p{Cf}/gu;
const UNSAFE_IN_LINES =
  /(?![\n\t])[\p{Cc}\p{Zl}\p{Zp}\p{Cs}\uFFFE\uFFFF]|(?![\u200C\u200D])\p{Cf}/gu;

/** A text that goes into a line: a name, a title, a message. */
export function printable(text: string): string {
  return text.replace(UNSAFE, '\uFFFD');
}

/** A text of several lines: line feeds and tabs stay. */
export function printableLines(text: string): string {
  return text.replaceAll('\r\n', '\n').replace(UNSAFE_IN_LINES, '\uFFFD');
}

/** A text of several lines in one, for what has no place for more: a title, a label. */
export function inOneLine(text: string): string {
  return printable(text.replace(/[\n\r\t]+/g, ' '));
}

/** A value as JSON in one line. What is unsafe stands in it as `\u` escapes, so nothing is lost. */
export function jsonText(value: unknown): string {
  return JSON.stringify(value).replace(UNSAFE, (unsafe) =>
    Array.from({ length: unsafe.length }, (_, at) => escapeOf(unsafe.charCodeAt(at))).join(''),
  );
}

function escapeOf(unit: number): string {
  return `\\u${unit.toString(16).padStart(4, '0')}`;
}
