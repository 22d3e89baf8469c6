// Skipping modules at rest must change nothing. Checked against the same engine that skips none:
// every example, to the bit.

import { describe, expect, it } from 'vitest';
import { BLOCK, Renderer } from '../../src/engine/renderer.ts';
import { attenuator } from '../../src/modules/attenuator.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { edges } from '../../src/timing/edges.ts';
import { rhythmSettings } from '../../src/timing/rhythm.ts';
import { close } from '../close.ts';
import { example, SHIPPED } from '../patch-of.ts';
import { moduleOf, patchOf as patchOfModules, sink } from './build.ts';

const RATE = 8000;

/** Four seconds, and how many times a circuit was passed over. */
function played(patch: Patch, passing: boolean): { channels: Float64Array[]; passed: number } {
  const seconds = 4;
  const renderer = new Renderer(patch, {
    sampleRate: RATE,
    passing,
    edgesOf: (module) =>
      edges(rhythmSettings(module.settings), {
        sampleRate: RATE,
        seed: patch.seed,
        module: module.name,
        until: seconds,
      }),
  });
  const blocks = Math.ceil((seconds * RATE) / BLOCK);
  const channels = renderer.channels.map(() => new Float64Array(blocks * BLOCK));
  let passed = 0;
  for (let block = 0; block < blocks; block++) {
    renderer.next();
    passed += renderer.rested.passed;
    channels.forEach((all, i) => {
      all.set(renderer.channels[i] as Float64Array, block * BLOCK);
    });
  }
  return { channels, passed };
}

describe.each(SHIPPED)('%s', (name) => {
  it('sounds the same, passed over or not', () => {
    const patch = example(name);
    const given = played(patch, true);
    const wanted = played(patch, false);
    given.channels.forEach((channel, i) => {
      const differs = channel.findIndex((sample, n) => sample !== wanted.channels[i]?.[n]);
      expect(differs).toBe(-1);
    });
    // Every example has a module that rests at times; if none were passed over, nothing was tried.
    expect(given.passed).toBeGreaterThan(0);
    expect(wanted.passed).toBe(0);
  });
});

it('runs a steady source once before it may rest: two offsets in a row give their sum', () => {
  const offset = (volts: number) => ({ level: 1, offset: volts });
  const patch = patchOfModules(
    [
      moduleOf('a', attenuator, offset(2)),
      moduleOf('b', attenuator, offset(3)),
      moduleOf('o', sink),
    ],
    ['a.out -> b.in', 'b.out -> o.left'],
  );
  // Each goes through 1 kohm into 100 kohm; Millman's theorem.
  const loaded = 100 / 101;
  const { channels } = played(patch, true);
  for (const sample of channels[0] ?? [])
    close(sample, (2 * loaded + 3) * loaded, { abs: 1e-12, unit: 'V', why: 'rounding' });
});
