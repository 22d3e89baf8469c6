// WAV: its bytes in memory, the same as a file, and a clip of a patch.

import { readFileSync } from 'node:fs';
import { KINDS, readPatch, wavBytes } from 'forehear';
import { openWav, renderClip, WavFile } from 'forehear/node';

const left = Float64Array.of(0, 0.5, -0.5, 1);
const spec = { sampleRate: 48_000, depth: '16', title: 'Four' } as const;
const bytes = await wavBytes([left], spec);
const writer = await openWav('four.wav', { ...spec, channels: 1, frames: left.length });
writer.write([left], left.length);
const written = await writer.finish();

const { patch } = readPatch(
  'modules: { hiss: { kind: noise }, out: { kind: output } }\ncables: [hiss.white -> out.left]\n',
  { file: 'hiss.yaml', kinds: KINDS },
);
if (patch === undefined) throw new Error('the patch has problems');
const clip = await renderClip(patch, {
  path: 'hiss.wav',
  sampleRate: 44_100,
  depth: '32f',
  length: { unit: 'seconds', value: 0.5 },
  tail: { unit: 'seconds', value: 0 },
  loop: false,
  stems: false,
  taps: [],
});
const file = new WavFile('hiss.wav');
let frames = 0;
for (const block of file.blocks) frames += block.frames;
file.close();

export const seen = {
  isSame: Buffer.compare(bytes, readFileSync('four.wav')) === 0,
  clipped: written.clipped,
  data: new TextDecoder().decode(bytes.subarray(0, 4)),
  files: clip.files.map(({ path, kind }) => [path, kind]),
  frames,
  rate: file.sampleRate,
  refused: await wavBytes([left, new Float64Array(3)], spec).catch(String),
};
