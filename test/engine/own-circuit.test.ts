// Circuits in JavaScript beside those of the engine, as a user of the library may write them: the example in
// DEVELOPERS.md, and one that does what a circuit of the engine's own does, to the bit.

import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { Renderer } from '../../src/engine/renderer.ts';
import { attenuator } from '../../src/modules/attenuator.ts';
import { type Definition, define } from '../../src/modules/definition.ts';
import * as facts from '../../src/modules/facts.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { mixer } from '../../src/modules/mixer.ts';
import { noise } from '../../src/modules/noise.ts';
import { oscillator } from '../../src/modules/oscillator.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { moduleOf, patchOf, sink } from './build.ts';

function left(patch: Patch, blocks = 20): number[] {
  const renderer = new Renderer(patch, { sampleRate: 48_000, edgesOf: () => () => undefined });
  const all: number[] = [];
  for (let block = 0; block < blocks; block++) {
    renderer.next();
    all.push(...(renderer.channels[0] as Float64Array));
  }
  return all;
}

/** The attenuator, in JavaScript. Without an offset, so that it may be told to rest at once. */
const own: Definition = define({
  ...(attenuator as typeof attenuator & { settings: object }),
  settings: {},
  create: (values, site) => {
    const { level, offset } = values as { level: number; offset: number };
    site.run({
      process(from, to, [input], [out]) {
        for (let i = from; i < to; i++) {
          const volts = level * (input?.[i] as number) + offset;
          (out as Float64Array)[i] = Math.max(-12, Math.min(volts, 12));
        }
      },
      rests: () => true,
    });
  },
});

const DOCUMENTED = /```ts\n[^`]*?\nconst crusher = (define\([\s\S]*?\n\}\));\n/;

describe('a circuit in JavaScript', () => {
  it('gives what the same gives as WebAssembly, to the bit', () => {
    const settings = { level: 0.7, offset: 0.31 };
    const render = (kind: Definition): number[] =>
      left(
        patchOf(
          [moduleOf('n', noise), moduleOf('a', kind, settings), moduleOf('o', sink)],
          ['n.white -> a.in', 'a.out -> o.left'],
        ),
      );
    expect(render(own)).toEqual(render(attenuator));
  });

  it('does so within a feedback cycle, sample by sample', () => {
    const render = (kind: Definition): number[] =>
      left(
        patchOf(
          [
            moduleOf('n', noise),
            moduleOf('m', mixer),
            moduleOf('a', kind, { level: -0.9, offset: 0 }),
            moduleOf('o', sink),
          ],
          ['n.white -> m.in-1', 'a.out -> m.in-2', 'm.out -> a.in', 'm.out -> o.left'],
        ),
      );
    expect(render(own)).toEqual(render(attenuator));
  });

  it('finds its wires again when later circuits have made the memory grow', () => {
    const count = 400;
    const render = (kind: Definition): number[] =>
      left(
        patchOf(
          [
            moduleOf('n', noise),
            moduleOf('a', kind, { level: 0.5, offset: 0 }),
            ...Array.from({ length: count }, (_, i) => moduleOf(`z${i}`, oscillator)),
            moduleOf('o', sink),
          ],
          ['n.white -> a.in', 'a.out -> o.left'],
        ),
        3,
      );
    expect(render(own)).toEqual(render(attenuator));
  });

  it('is as the example in DEVELOPERS.md has it', async () => {
    const [, text] = DOCUMENTED.exec(readFileSync('DEVELOPERS.md', 'utf8')) ?? [];
    expect(text).toBeDefined();
    // TypeScript's marks that a value is there are none of JavaScript's.
    const code = `export const made = (define, facts) => ${text?.replace(/(?<=[\w\]])!(?!=)/g, '')};`;
    const { made } = await import(`data:text/javascript,${encodeURIComponent(code)}`);
    const crusher: Definition = made(define, facts);
    const patch = readPatch(
      `title: Steps
modules:
  tone: { kind: oscillator, at-zero: 100 Hz }
  steps: { kind: crusher, step: 2 V }
  out: { kind: output }
cables:
  - tone.sine -> steps.in
  - steps.out -> out.left
`,
      {
        file: 'steps.yaml',
        kinds: [...KINDS, crusher],
        load: () => '',
        loadRack: () => '',
      },
    ).patch as Patch;
    // 2 V a step, behind 1 kohm into 100 kohm, at 10 V full scale.
    const levels = new Set(
      left(patch).map((sample) => Math.round(((sample * 10 * 101) / 100) * 1e9) / 1e9 + 0),
    );
    expect([...levels].sort((a, b) => a - b)).toEqual([-4, -2, 0, 2, 4]);
  });
});
