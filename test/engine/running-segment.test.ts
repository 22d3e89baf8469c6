// Passing over what rests must change nothing. Checked against the same engine with modules that never
// rest: every example, to the bit.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { Take } from '../../src/engine/take.ts';
import type { Circuit } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';

const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const names = readdirSync(PATCHES).filter((name) => name.endsWith('.yaml'));

function patchOf(name: string): Patch {
  const { patch } = readPatch(readFileSync(join(PATCHES, name), 'utf8'), {
    file: name,
    kinds: KINDS,
    load: (path) => readFileSync(join(PATCHES, path), 'utf8'),
    loadRack: (path) => readFileSync(join(PATCHES, path), 'utf8'),
  });
  if (patch === undefined) throw new Error(`${name} is not a patch`);
  return patch;
}

interface Counts {
  runs: number;
}

/** The same patch; its modules count their runs, and never rest if told so. */
function counted(patch: Patch, counts: Counts, mayRest: boolean): Patch {
  const modules = patch.modules.map((module) => {
    const { definition } = module;
    const { create } = definition;
    if (create === undefined) return module;
    const made = (...args: Parameters<typeof create>): Circuit => {
      const circuit = create(...args);
      const run = circuit.run.bind(circuit);
      circuit.run = (...volts) => {
        counts.runs += 1;
        run(...volts);
      };
      if (!mayRest) Object.assign(circuit, { rests: undefined });
      return circuit;
    };
    return { ...module, definition: { ...definition, create: made } };
  });
  return { ...patch, modules };
}

function played(patch: Patch): Float64Array[] {
  const take = new Take(patch, {
    sampleRate: 8000,
    length: { unit: 'seconds', value: 4 },
    tail: { unit: 'seconds', value: 0 },
  });
  const channels = take.channels.map(() => new Float64Array(take.totalFrames ?? 0));
  for (let from = 0, given = take.read(); given > 0; from += given, given = take.read())
    channels.forEach((all, i) => {
      all.set((take.channels[i] as Float64Array).subarray(0, given), from);
    });
  return channels;
}

describe.each(names)('%s', (name) => {
  it('sounds the same, passed over or not', () => {
    const patch = patchOf(name);
    const [resting, restless] = [{ runs: 0 }, { runs: 0 }];
    const given = played(counted(patch, resting, true));
    const wanted = played(counted(patch, restless, false));
    given.forEach((channel, i) => {
      const differs = channel.findIndex((sample, n) => sample !== wanted[i]?.[n]);
      expect(differs).toBe(-1);
    });
    // Every example has a module that rests at times; if none were passed over, nothing was tried.
    expect(resting.runs).toBeLessThan(restless.runs);
  });
});
