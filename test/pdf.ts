/**
 * Reads what Chromium printed: for each page its words, and how large they are. As much of PDF as
 * Chromium writes: uncompressed objects, streams by Deflate, fonts with a table back to Unicode.
 *
 * Source: ISO 32000-1:2008, 7.3.8 (streams), 8.3 (matrices), 9.4 (text), 9.10.3 (ToUnicode).
 */

import { inflateSync } from 'node:zlib';

export interface PrintedText {
  readonly words: string;
  /** Size of its letters, pt. */
  readonly size: number;
  /** Height of its line above the page's foot, pt. */
  readonly height: number;
}

export interface PrintedPage {
  /** In the order in which they are drawn. */
  readonly texts: readonly PrintedText[];
  /** All words, without spaces: Chromium draws letters by their places. */
  readonly letters: string;
}

type Matrix = readonly [number, number, number, number, number, number];

const STILL: Matrix = [1, 0, 0, 1, 0, 0];

/** Reads the pages of a document. */
export function printedPages(pdf: Buffer): readonly PrintedPage[] {
  const objects = objectsOf(pdf);
  const pages = [...objects.values()].filter(({ dictionary }) =>
    /\/Type \/Page\b/.test(dictionary),
  );
  return pages.map(({ dictionary }) => {
    const contents = /\/Contents (\d+) 0 R/.exec(dictionary)?.[1];
    const reader = new Reader(objects);
    reader.read(objects.get(Number(contents)), STILL, dictionary);
    const { texts } = reader;
    return {
      texts,
      letters: texts
        .map(({ words }) => words)
        .join('')
        .replace(/\s/g, ''),
    };
  });
}

interface PdfObject {
  readonly dictionary: string;
  readonly stream: string;
}

function objectsOf(pdf: Buffer): ReadonlyMap<number, PdfObject> {
  const text = pdf.toString('latin1');
  const objects = new Map<number, PdfObject>();
  for (const match of text.matchAll(/(?:^|\n)(\d+) 0 obj\n/g)) {
    const from = match.index + match[0].length;
    const end = text.indexOf('endobj', from);
    const start = text.indexOf('stream\n', from);
    const hasStream = start >= 0 && start < end;
    const dictionary = text.slice(from, hasStream ? start : end);
    const length = Number(/\/Length (\d+)/.exec(dictionary)?.[1] ?? 0);
    const raw = pdf.subarray(start + 7, start + 7 + length);
    const stream = !hasStream
      ? ''
      : dictionary.includes('FlateDecode')
        ? inflateSync(raw).toString('latin1')
        : raw.toString('latin1');
    objects.set(Number(match[1]), { dictionary, stream });
  }
  return objects;
}

class Reader {
  readonly texts: PrintedText[] = [];
  private readonly objects: ReadonlyMap<number, PdfObject>;
  private readonly letters = new Map<number, ReadonlyMap<string, string>>();

  constructor(objects: ReadonlyMap<number, PdfObject>) {
    this.objects = objects;
  }

  /** @param resources the dictionary that says what its names stand for. */
  read(object: PdfObject | undefined, start: Matrix, resources: string): void {
    if (object === undefined) return;
    let matrix = start;
    const stack: Matrix[] = [];
    let line: Matrix = STILL;
    let size = 0;
    let font: number | undefined;
    let operands: string[] = [];
    for (const [token] of object.stream.matchAll(/<<[^>]*>>|<[^>]*>|\[[^\]]*\]|\/?[^\s[\]<>/]+/g)) {
      if (/^[-+.\d/<[]/.test(token)) {
        operands.push(token);
        continue;
      }
      const numbers = operands.map(Number);
      if (token === 'q') stack.push(matrix);
      else if (token === 'Q') matrix = stack.pop() ?? start;
      else if (token === 'cm') matrix = product(numbers as unknown as Matrix, matrix);
      else if (token === 'BT') line = STILL;
      else if (token === 'Tm') line = numbers as unknown as Matrix;
      else if (token === 'Tf') {
        size = numbers[1] ?? 0;
        font = referenced(resources, operands[0]);
      } else if (token === 'Tj' || token === 'TJ') {
        const [, , c, d, , height] = product(line, matrix);
        const words = this.decoded(operands.join(''), font);
        this.texts.push({ words, size: size * Math.hypot(c, d), height });
      } else if (token === 'Do') {
        const form = this.objects.get(referenced(resources, operands[0]) ?? -1);
        if (form?.dictionary.includes('/Form'))
          this.read(form, placed(form, matrix), form.dictionary);
      }
      operands = [];
    }
  }

  private decoded(strings: string, font: number | undefined): string {
    if (font === undefined) return '';
    let letters = this.letters.get(font);
    if (letters === undefined) {
      const table = /\/ToUnicode (\d+) 0 R/.exec(this.objects.get(font)?.dictionary ?? '')?.[1];
      letters = lettersOf(this.objects.get(Number(table))?.stream ?? '');
      this.letters.set(font, letters);
    }
    return [...strings.matchAll(/<([0-9A-Fa-f]*)>/g)]
      .flatMap(([, hex = '']) => hex.match(/.{4}/g) ?? [])
      .map((code) => letters.get(code.toUpperCase()) ?? '')
      .join('');
  }
}

function placed({ dictionary }: PdfObject, matrix: Matrix): Matrix {
  const own = /\/Matrix \[([^\]]*)\]/.exec(dictionary)?.[1];
  return own === undefined
    ? matrix
    : product(own.trim().split(/\s+/).map(Number) as unknown as Matrix, matrix);
}

/** The object that a name stands for. */
function referenced(resources: string, name = '/'): number | undefined {
  const found = new RegExp(`${name}\\s+(\\d+) 0 R`).exec(resources)?.[1];
  return found === undefined ? undefined : Number(found);
}

/** One matrix after another. */
function product([a, b, c, d, e, f]: Matrix, [g, h, i, j, k, l]: Matrix): Matrix {
  return [
    a * g + b * i,
    a * h + b * j,
    c * g + d * i,
    c * h + d * j,
    e * g + f * i + k,
    e * h + f * j + l,
  ];
}

function lettersOf(table: string): ReadonlyMap<string, string> {
  const letters = new Map<string, string>();
  const text = (hex: string): string => Buffer.from(hex, 'hex').swap16().toString('utf16le');
  for (const [, block = ''] of table.matchAll(/beginbfchar([\s\S]*?)endbfchar/g))
    for (const [, code = '', to = ''] of block.matchAll(/<(\w+)>\s*<(\w+)>/g))
      letters.set(code.toUpperCase(), text(to));
  for (const [, block = ''] of table.matchAll(/beginbfrange([\s\S]*?)endbfrange/g))
    for (const [, low = '', high = '', to = ''] of block.matchAll(/<(\w+)>\s*<(\w+)>\s*<(\w+)>/g))
      for (let code = Number.parseInt(low, 16); code <= Number.parseInt(high, 16); code++) {
        const letter = Number.parseInt(to, 16) + code - Number.parseInt(low, 16);
        letters.set(code.toString(16).toUpperCase().padStart(4, '0'), String.fromCodePoint(letter));
      }
  return letters;
}
