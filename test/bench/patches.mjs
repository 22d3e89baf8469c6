/** Patches for the benches, read as the command reads them. */

import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { KINDS, readPatch } from '../../dist/index.js';

const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));

/** Reads one of the example patches. */
export function examplePatch(name) {
  const file = join(PATCHES, name);
  return checked(readFileSync(file, 'utf8'), file);
}

/** Reads a patch's text. @throws if it has problems. */
export function checked(text, file = join(PATCHES, 'bench.yaml')) {
  const load = (path) =>
    readFileSync(path.startsWith('/') ? path : join(dirname(file), path), 'utf8');
  const { patch, problems } = readPatch(text, { file, kinds: KINDS, load });
  if (patch === undefined) throw new Error(JSON.stringify(problems, null, 1));
  return patch;
}

/** Voices of noise -> filter -> amplifier, one steady control voltage to all, mixed to one output. */
export function noiseVoices(count) {
  const voices = Array.from({ length: count }, (_, i) => i + 1);
  const modules = voices.map(
    (i) => `  n${i}: { kind: noise }
  f${i}: { kind: filter, cutoff: ${500 * i} Hz, q: 2 }
  a${i}: { kind: amplifier }`,
  );
  const cables = voices.map(
    (i) => `  - n${i}.white -> f${i}.in
  - f${i}.low -> a${i}.in
  - split.out-${i} -> a${i}.control
  - a${i}.out -> mix.in-${i}`,
  );
  return checked(`title: ${count} voices of noise
modules:
${modules.join('\n')}
  steady: { kind: attenuator, level: 0 %, offset: 4 V }
  split: { kind: multiple, jacks: ${count + 1} }
  mix: { kind: mixer }
  out: { kind: output }
cables:
${cables.join('\n')}
  - steady.out -> split.in
  - mix.out -> out.left
`);
}
