// Patches with mistakes typed into them, and every setting pushed about: each is either refused, with
// a place inside the text, or renders to finite samples.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Take } from '../../src/engine/take.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { SHIPPED, shipped } from '../patch-of.ts';
import { runs } from '../runs.ts';

const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const texts = [...SHIPPED.map(shipped), ...KINDS.map(({ example }) => example)];
const parts = new Map<string, string | undefined>();

function load(path: string): string | undefined {
  if (!parts.has(path)) {
    try {
      parts.set(path, readFileSync(join(PATCHES, path), 'utf8'));
    } catch {
      parts.set(path, undefined);
    }
  }
  return parts.get(path);
}

/** Renders 30 ms at 8 kHz: the point is what it does, not how it sounds. */
function renders(patch: Patch): void {
  const outputs = patch.modules.filter(({ definition }) => definition.role === 'output');
  if (outputs.length !== 1) return;
  const take = new Take(patch, {
    sampleRate: 8000,
    length: { unit: 'seconds', value: 0.03 },
    tail: { unit: 'seconds', value: 0 },
  });
  // The renderer throws at a sample that is no number.
  let frames = 0;
  for (let given = take.read(); given > 0; given = take.read()) frames += given;
  expect(frames).toBe(240);
}

function tried(text: string): void {
  const { patch, problems } = readPatch(text, { file: 'mutant.yaml', kinds: KINDS, load });
  if (patch === undefined) {
    expect(problems.length).toBeGreaterThan(0);
    const lines = text.split(/\r\n|\r|\n/);
    for (const { place, message } of problems) {
      expect(message).not.toBe('');
      if (place.file === 'mutant.yaml') expect(place.line).toBeLessThanOrEqual(lines.length);
    }
  } else {
    renders(patch);
  }
}

describe('a patch with', () => {
  const source = fc.constantFrom(...texts);

  it('characters changed, left out or doubled is refused or renders', () => {
    const change = fc.record({
      at: fc.nat(10_000),
      length: fc.nat(6),
      put: fc.oneof(
        fc.string({ maxLength: 4 }),
        fc.constantFrom(
          '0',
          '1e9',
          '-',
          '.inf',
          'NaN',
          ':',
          '"',
          '{',
          '\t',
          '\n',
          '%',
          ' V',
          'tau',
        ),
      ),
    });
    fc.assert(
      fc.property(source, fc.array(change, { minLength: 1, maxLength: 3 }), (text, changes) => {
        let mutant = text;
        for (const { at, length, put } of changes) {
          const from = at % mutant.length;
          mutant = mutant.slice(0, from) + put + mutant.slice(from + length);
        }
        tried(mutant);
      }),
      runs(150),
    );
  });

  it('lines left out, doubled or moved is refused or renders', () => {
    fc.assert(
      fc.property(
        source,
        fc.nat(200),
        fc.nat(200),
        fc.constantFrom('drop', 'double', 'move'),
        (text, a, b, way) => {
          const lines = text.split('\n');
          const line = lines[a % lines.length] as string;
          if (way === 'double') lines.splice(b % lines.length, 0, line);
          else {
            lines.splice(a % lines.length, 1);
            if (way === 'move') lines.splice(b % lines.length, 0, line);
          }
          tried(lines.join('\n'));
        },
      ),
      runs(100),
    );
  });

  it('a number put in place of any other is refused or renders', () => {
    const numbers = fc.constantFrom(
      '0',
      '1e9',
      '-1e9',
      '1e-9',
      '1e308',
      '1e-320',
      '0.1',
      '77',
      '-3',
    );
    fc.assert(
      fc.property(source, fc.nat(100), numbers, (text, index, number) => {
        const found = [
          ...text.matchAll(/(?<=[ {:,-])\d+(?:\.\d+)?(?= (?:ms|s|Hz|kHz|V|%|dB|bpm|st)\b|[,} ])/g),
        ];
        const match = found[index % Math.max(1, found.length)];
        fc.pre(match !== undefined);
        const { index: at, 0: written } = match as RegExpExecArray;
        tried(text.slice(0, at) + number + text.slice(at + written.length));
      }),
      runs(100),
    );
  });
});
