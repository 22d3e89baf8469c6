/** SVG as text: elements, and drawings that are put beside and under one another. */

import { escaped } from '../markup.ts';
import type { ChartColours } from './colours.ts';

/** A piece of a picture: its size in px and the markup inside. */
export interface Drawing {
  readonly width: number;
  readonly height: number;
  readonly body: string;
}

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** The size that text has in charts, px, and the width of an average letter. */
export const FONT_PX = 12;
export const LETTER_PX = 6.3;

/** Makes an element; numbers are written to hundredths, attributes that are undefined left out. */
export function element(name: string, attributes: Attributes, ...children: string[]): string {
  const written = Object.entries(attributes)
    .filter((entry): entry is [string, string | number] => entry[1] !== undefined)
    .map(([key, value]) => ` ${key}="${typeof value === 'number' ? brief(value) : escaped(value)}"`)
    .join('');
  return children.length === 0
    ? `<${name}${written}/>`
    : `<${name}${written}>${children.join('')}</${name}>`;
}

/** Makes a line of text; `anchor` is where `x` lies in it. */
export function label(
  words: string,
  x: number,
  y: number,
  attributes: Attributes & { readonly 'text-anchor'?: 'start' | 'middle' | 'end' } = {},
): string {
  return element('text', { x, y, ...attributes }, escaped(words));
}

/** Shortens words to a width in px. */
export function fitted(words: string, width: number): string {
  const letters = Math.max(1, Math.floor(width / LETTER_PX));
  return words.length <= letters ? words : `${words.slice(0, letters - 1)}…`;
}

/** Breaks words into lines of a width in px. */
export function lines(words: string, width: number): string[] {
  const letters = Math.max(8, Math.floor(width / LETTER_PX));
  const broken: string[] = [];
  let line = '';
  for (const word of words.split(/\s+/)) {
    if (line !== '' && line.length + 1 + word.length > letters) {
      broken.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  if (line !== '') broken.push(line);
  return broken;
}

/** Puts drawings under one another. */
export function stacked(drawings: readonly Drawing[], gap: number): Drawing {
  return gridded(drawings, 1, gap);
}

/** Puts drawings of one size into rows of `columns`. */
export function gridded(drawings: readonly Drawing[], columns: number, gap: number): Drawing {
  let y = 0;
  let width = 0;
  const placed: string[] = [];
  for (let from = 0; from < drawings.length; from += columns) {
    let x = 0;
    let tallest = 0;
    for (const drawing of drawings.slice(from, from + columns)) {
      placed.push(element('g', { transform: `translate(${brief(x)} ${brief(y)})` }, drawing.body));
      x += drawing.width + gap;
      tallest = Math.max(tallest, drawing.height);
    }
    width = Math.max(width, x - gap);
    y += tallest + gap;
  }
  return { width, height: Math.max(0, y - gap), body: placed.join('\n') };
}

/** Space around a drawing, px. */
const EDGE = 16;

/** Letters as wide as those that {@link LETTER_PX} counts with, or narrower. */
export const LETTERS = "'Helvetica Neue', Arial, 'Liberation Sans', sans-serif";

/**
 * Makes a drawing a picture of its own.
 * @param name what the picture shows, for those who do not see it.
 * @param edge space around it, px.
 */
export function svgPicture(
  drawing: Drawing,
  name: string,
  colours: ChartColours,
  edge: number = EDGE,
): string {
  const width = drawing.width + 2 * edge;
  const height = drawing.height + 2 * edge;
  return element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      viewBox: `0 0 ${brief(width)} ${brief(height)}`,
      width,
      height,
      role: 'img',
      'aria-label': name,
      'font-family': LETTERS,
      'font-size': FONT_PX,
      fill: colours.ink,
    },
    element('title', {}, escaped(name)),
    element('rect', { width, height, fill: colours.paper }),
    element('g', { transform: `translate(${edge} ${edge})` }, drawing.body),
  );
}

/** A number to hundredths. */
export function brief(value: number): string {
  return String(Math.round(value * 100) / 100);
}
