/** Patches on racks that state the levels and pulses of output jacks. */

import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';

/** A patch on a rack. @throws Error with the problems if either has any. */
export function onRack(modules: string, cables: string, units: string): Patch {
  const text = `rack: own.yaml\nmodules:\n${modules}\ncables: [${cables}]\n`;
  const { patch, problems } = readPatch(text, {
    file: 'test.yaml',
    kinds: KINDS,
    loadRack: () => `units:\n${units}\n`,
  });
  if (patch === undefined) throw new Error(JSON.stringify(problems));
  return patch;
}

/** A rhythm of one channel, its clock into one pulse module and its gates into another. */
export function drumsOnRack(drums: string, pulse = '', settings = ''): Patch {
  return onRack(
    `  drums: { kind: rhythm, channels: [hat], patterns: { a: { hat: "x-x-" } }, song: [a]${settings} }
  one: { kind: pulse, unit: one }
  two: { kind: pulse, unit: two }
  out: { kind: output }`,
    'drums.clock -> one.trigger, drums.hat -> two.trigger, one.out -> out.left, two.out -> out.right',
    `  drums: { kind: rhythm, jacks: { ${drums} } }
  one: { kind: pulse, jacks: { trigger: { ${pulse} } } }
  two: { kind: pulse }
  out: { kind: output }`,
  );
}
