/** Patch texts with the place of their one fault marked, so that a test reads like the file. */

import { readPatch } from '../../src/patch/read.ts';
import type { Problem } from '../../src/patch/text/problem.ts';
import { TEST_KINDS } from './kinds.ts';

export const FILE = 'hat.yaml';

/** A patch of the test kinds that has nothing wrong, with `lines` under `modules` and `cables`. */
export function patchWith(modules: string, cables = ''): string {
  return `modules:
  drums: { kind: sequencer, channels: [hat], patterns: { groove: { hat: "x-x-" } } }
  env: { kind: shaper }
  noise: { kind: hiss }
  out: { kind: speakers }
${indented(modules, 2)}cables:
  - drums.hat -> env.trigger
  - noise.white -> out.left
${indented(cables, 2)}`;
}

function indented(text: string, by: number): string {
  const lines = text.split('\n').filter((line) => line.trim() !== '');
  return lines.map((line) => `${' '.repeat(by)}${line}\n`).join('');
}

/** Takes the marks « and » out and tells where they stood: line and column from 1, and length. */
export function unmark(marked: string): {
  text: string;
  line: number;
  column: number;
  length: number;
} {
  const start = marked.indexOf('«');
  const before = marked.slice(0, start).split('\n');
  return {
    text: marked.replace('«', '').replace('»', ''),
    line: before.length,
    column: (before.at(-1) as string).length + 1,
    length: marked.indexOf('»') - start - 1,
  };
}

/** The problems of a text read with the test kinds. */
export function problemsIn(
  text: string,
  parts: { readonly [path: string]: string } = {},
  set: readonly string[] = [],
): readonly Problem[] {
  const load = (path: string): string | undefined =>
    Object.hasOwn(parts, path) ? parts[path] : undefined;
  return readPatch(text, { file: FILE, kinds: TEST_KINDS, load, loadRecording: load, set })
    .problems;
}
