/**
 * Reads YAML 1.2 into nodes, refusing what data has no use for: anchors and aliases (the way to a
 * file that grows without end), tags, merge keys, directives other than `%YAML 1.2`.
 */

import {
  Composer,
  CST,
  isMap,
  isScalar,
  isSeq,
  Lexer,
  Parser,
  YAMLParseError,
  type Node as YamlNode,
} from 'yaml';
import type { Entry, MapNode, Node, TextNode } from './nodes.ts';
import type { Place } from './place.ts';
import { quoted, type Report } from './report.ts';
import { placeAt, type SourceText } from './source.ts';

/** UTF-16 code units. */
export const MAX_TEXT = 2_000_000;
/** Levels of nesting; a patch needs seven. */
export const MAX_DEPTH = 32;
/** About twenty a setting line, so far more than the modules and cables a patch may hold. */
const MAX_TOKENS = 500_000;

/** YAML 1.2.2, 5.1: the characters that are not `c-printable`. */
const NOT_PRINTABLE = /(?![\t\n\r\u0085])\p{Cc}|[\p{Cs}\uFFFE\uFFFF]/u;

/**
 * Reads the stretch of `source` from `from` to its end, or to `to`. Every fault is reported; the
 * result is undefined when the text is empty or cannot be trusted.
 */
export function readYaml(
  source: SourceText,
  report: Report,
  from = 0,
  to = source.text.length,
): Node | undefined {
  const text = source.text.slice(from, to);
  const place = (start: number, end: number): Place => placeAt(source, from + start, from + end);
  if (text.length > MAX_TEXT) {
    report.add('too-big', place(0, 1), 'the text is longer than 2 million characters');
    return undefined;
  }
  const odd = NOT_PRINTABLE.exec(text);
  if (odd) {
    const code = (odd[0].codePointAt(0) as number).toString(16).toUpperCase().padStart(4, '0');
    report.add(
      'syntax',
      place(odd.index, odd.index + 1),
      `the character U+${code} is not allowed in YAML`,
      { expected: 'plain text in UTF-8' },
    );
    return undefined;
  }
  const scanned = scan(text, place, report);
  if (!scanned) return undefined;
  const { contents, errors } = compose(scanned.words, text.length);
  reportErrors(errors, text, place, report, scanned.refused);
  // A tree built in spite of broken syntax would only raise complaints about things that are right.
  if (errors.length > 0 || contents === null) return undefined;
  return convert(contents, text, place, report, 1);
}

type Placing = (start: number, end: number) => Place;

interface Scanned {
  /** The text in the parser's words. */
  readonly words: readonly string[];
  /** Lines with something refused. */
  readonly refused: ReadonlySet<number>;
}

/**
 * Looks at the words of the text before it is parsed: reports what a patch may not use, and refuses
 * nesting so deep that the parser, which is recursive, would run out of stack.
 * @returns undefined when the text is not fit to be parsed.
 */
function scan(text: string, place: Placing, report: Report): Scanned | undefined {
  const words: string[] = [];
  const refused = new Set<number>();
  const refuse = (at: Place, message: string, expected?: string): void => {
    report.add('syntax', at, message, { expected });
    refused.add(at.line);
  };
  let offset = 0;
  let column = 0;
  let flow = 0;
  let tokens = 0;
  const blocks: number[] = [];
  let plain = false;
  for (const token of new Lexer().lex(text)) {
    words.push(token);
    // The word after this mark is a plain text, whatever it looks like.
    if (token === CST.SCALAR) {
      plain = true;
      continue;
    }
    const type = plain ? 'scalar' : CST.tokenType(token);
    plain = false;
    if (type === 'doc-mode' || type === 'flow-error-end') continue;
    const start = offset;
    const at = (): Place => place(start, start + token.length);
    if (++tokens > MAX_TOKENS) {
      report.add('too-big', at(), 'the text holds more than 500,000 words and signs');
      return undefined;
    }
    if (type === 'anchor' || type === 'alias') {
      refuse(
        at(),
        `a patch has no anchors or aliases: ${quoted(token)}`,
        'the value itself, or a text in quotation marks',
      );
    } else if (type === 'tag') refuse(at(), `a patch has no tags: ${quoted(token)}`);
    else if (type === 'directive-line' && !/^%YAML\s+1\.2\s*$/.test(token)) {
      refuse(at(), `a patch has no directives: ${quoted(token)}`);
    } else if (type === 'flow-map-start' || type === 'flow-seq-start') flow++;
    else if (type === 'flow-map-end' || type === 'flow-seq-end') {
      if (flow === 0) {
        refuse(at(), `${quoted(token)} closes nothing`);
        return undefined;
      }
      flow--;
    } else if (type === 'doc-start' || type === 'doc-end') blocks.length = 0;
    if (flow === 0 && type !== 'space' && type !== 'newline' && type !== 'comment') {
      while (blocks.length > 0 && (blocks.at(-1) as number) >= column) blocks.pop();
      blocks.push(column);
    }
    // A level of `- - key: value` is up to three words; the exact count comes with the tree.
    if (flow > MAX_DEPTH || blocks.length > 3 * MAX_DEPTH) {
      report.add('too-big', at(), `more than ${MAX_DEPTH} levels inside one another`);
      return undefined;
    }
    offset += token.length;
    const newline = token.lastIndexOf('\n');
    column = newline < 0 ? column + token.length : token.length - newline - 1;
  }
  return { words, refused };
}

/** As `parseDocument`, from words that are found already: it would look for them again. */
function compose(
  words: readonly string[],
  length: number,
): { readonly contents: YamlNode | null; readonly errors: readonly YAMLParseError[] } {
  const parser = new Parser();
  function* tokens(): Generator<CST.Token> {
    for (const word of words) yield* parser.next(word);
    yield* parser.end();
  }
  const composer = new Composer({
    schema: 'failsafe',
    // Its own check takes time in the square of the number of keys; `mapNode` has another.
    uniqueKeys: false,
  });
  const [document, second] = composer.compose(tokens(), true, length);
  if (document === undefined) throw new Error('a text without a document');
  if (second === undefined) return document;
  const [start, end] = second.range;
  const more = new YAMLParseError([start, end], 'MULTIPLE_DOCS', 'a second document');
  return { contents: document.contents, errors: [...document.errors, more] };
}

/** Own words for the commonest slips; the parser's own serve for the rest. */
const SLIPS: { readonly [code: string]: string } = {
  TAB_AS_INDENT: 'a tab cannot indent a line: use spaces',
  BLOCK_AS_IMPLICIT_KEY:
    'two keys on one line: put the second on a line of its own, or in { }; ' +
    'a text that has a colon goes in quotation marks',
  BLOCK_IN_FLOW: 'a "-" ahead of a space begins a list: put drum tab in quotation marks',
  MULTILINE_IMPLICIT_KEY: 'a key without a value: it needs ": ", a colon and a space, after it',
  MULTIPLE_DOCS: 'a second document: one file holds one patch',
};

/** What a line has that is indented otherwise than the one before, and then all that are not. */
const INDENTS: readonly string[] = ['TAB_AS_INDENT', 'BAD_INDENT'];

/** A line that begins with a space that YAML does not count as one, as word processors and web pages have. */
const ODD_INDENT = /^( *)([\u00a0\u1680\u2000-\u200b\u202f\u205f\u3000\ufeff]+)/mu;

/** One problem a line, and one of indentation, since a slip makes the parser stumble several times over. */
function reportErrors(
  errors: readonly YAMLParseError[],
  text: string,
  place: Placing,
  report: Report,
  refused: ReadonlySet<number>,
): void {
  const lines = new Set(refused);
  const odd = ODD_INDENT.exec(text);
  let isTold = false;
  for (const { code, message, pos } of errors) {
    const at = place(pos[0], pos[1]);
    if (lines.has(at.line) || (code === 'BAD_INDENT' && isTold)) continue;
    if (INDENTS.includes(code)) {
      isTold = true;
      if (odd !== null) {
        const [all, indent = ''] = odd;
        const start = odd.index + indent.length;
        report.add(
          'syntax',
          place(start, odd.index + all.length),
          'this space is not a plain one',
          {
            expected:
              'spaces of the space bar; text from a page or a word processor may have others',
          },
        );
        lines.add(at.line);
        continue;
      }
    }
    lines.add(at.line);
    report.add('syntax', at, SLIPS[code] ?? lowerFirst(message));
  }
}

function lowerFirst(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

function convert(
  node: YamlNode,
  text: string,
  place: Placing,
  report: Report,
  depth: number,
): Node {
  const [start, end] = node.range ?? [0, 0];
  const at = place(start, end);
  if (depth > MAX_DEPTH && !isScalar(node)) {
    report.add('too-big', at, `more than ${MAX_DEPTH} levels inside one another`);
    return { type: 'broken', place: at };
  }
  if (isMap(node)) return mapNode(node, text, place, report, depth);
  if (isSeq(node)) {
    const items = node.items.map((item) =>
      convert(item as YamlNode, text, place, report, depth + 1),
    );
    return { type: 'list', items, place: at };
  }
  if (isScalar(node)) return textNode(String(node.value ?? ''), start, end, text, place);
  // An alias, which `scan` has reported.
  return { type: 'broken', place: at };
}

function textNode(
  value: string,
  start: number,
  end: number,
  text: string,
  place: Placing,
): TextNode {
  const at = place(start, end);
  const written = text.slice(start, end);
  const skip = written.startsWith(value) ? 0 : written.startsWith(value, 1) ? 1 : -1;
  const within = (from: number, to: number): Place =>
    skip < 0 ? at : place(start + skip + from, start + skip + to);
  return { type: 'text', text: value, place: at, within };
}

function mapNode(
  node: YamlMapLike,
  text: string,
  place: Placing,
  report: Report,
  depth: number,
): MapNode {
  const entries = new Map<string, Entry>();
  let last: Entry | undefined;
  for (const pair of node.items) {
    const key = convert(pair.key as YamlNode, text, place, report, depth + 1);
    if (key.type === 'broken') continue;
    if (key.type !== 'text') {
      report.add('syntax', key.place, `a ${key.type} cannot be a key`);
      continue;
    }
    // The flow style reads `{ sustain: 0,5 % }` as two entries.
    if (
      pair.value === null &&
      /^[0-9]/.test(key.text) &&
      last &&
      /^[-+]?[0-9]+$/.test(textIn(last))
    ) {
      // Three digits after the comma may as well be thousands.
      const thousands = /^[0-9]{3}(?![0-9])/.test(key.text);
      const nearest = thousands ? undefined : `${textIn(last)}.${key.text}`;
      report.add('syntax', last.value.place, 'a number has a point, not a comma', { nearest });
      entries.set(last.key, { ...last, value: { type: 'broken', place: last.value.place } });
      continue;
    }
    const value =
      pair.value === null
        ? textNode('', 0, 0, '', () => key.place)
        : convert(pair.value as YamlNode, text, place, report, depth + 1);
    // The flow style reads `{kind:noise}` as one long key without a value.
    const colon = value.type === 'text' && value.text === '' ? key.text.search(/:\S/) : -1;
    if (colon > 0) {
      report.add('syntax', key.place, 'no space after the colon', {
        nearest: `${key.text.slice(0, colon)}: ${key.text.slice(colon + 1)}`,
      });
    } else if (key.text === '<<') {
      report.add('syntax', key.place, 'a patch has no merge keys: "<<"');
    } else if (entries.has(key.text)) {
      const first = (entries.get(key.text) as Entry).at.line;
      report.add('duplicate', key.place, `${quoted(key.text)} is there already, on line ${first}`);
    } else {
      last = { key: key.text, at: key.place, value };
      entries.set(key.text, last);
    }
  }
  const [start, end] = node.range ?? [0, 0];
  return { type: 'map', entries: [...entries.values()], place: place(start, end) };
}

function textIn({ value }: Entry): string {
  return value.type === 'text' ? value.text : '';
}

interface YamlMapLike {
  readonly items: readonly { readonly key: unknown; readonly value: unknown }[];
  readonly range?: readonly [number, number, number] | null | undefined;
}
