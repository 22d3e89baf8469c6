/** The few parts of SVG that charts are made of (W3C SVG 1.1). */

import { escaped } from '../markup.ts';

/** Numbers are written to a tenth of a unit, which no eye and no printer tells apart. */
export function coordinate(value: number): string {
  return String(Math.round(value * 10) / 10);
}

export function line(x1: number, y1: number, x2: number, y2: number, style: string): string {
  const [a, b, c, d] = [x1, y1, x2, y2].map(coordinate);
  return `<line x1="${a}" y1="${b}" x2="${c}" y2="${d}" class="${style}"/>`;
}

export function text(x: number, y: number, words: string, style: string): string {
  return `<text x="${coordinate(x)}" y="${coordinate(y)}" class="${style}">${escaped(words)}</text>`;
}

export function rect(x: number, y: number, width: number, height: number, style: string): string {
  const [a, b, c, d] = [x, y, width, height].map(coordinate);
  return `<rect x="${a}" y="${b}" width="${c}" height="${d}" class="${style}"/>`;
}

/** A line through points; nothing for fewer than two. */
export function path(points: readonly (readonly [x: number, y: number])[], style: string): string {
  if (points.length < 2) return '';
  const steps = points.map(([x, y]) => `${coordinate(x)} ${coordinate(y)}`);
  return `<path d="M${steps.join('L')}" class="${style}"/>`;
}
