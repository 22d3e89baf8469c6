/** Writing a file against making its samples. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Take } from '../../dist/engine/take.js';
import { openWav } from '../../dist/wav/wav-file.js';
import { processorTime } from './clock.mjs';
import { examplePatch } from './patches.mjs';

export const title = 'Writing a minute of the closed hat against rendering it';

export async function run() {
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const patch = examplePatch('closed-hat.yaml');
    const rows = [];
    for (const depth of ['16', '24', '32f']) {
      let least = { writing: Number.POSITIVE_INFINITY, rendering: Number.POSITIVE_INFINITY };
      for (let round = 0; round < 5; round++) {
        const spent = await once(patch, depth, join(folder, 'clip.wav'));
        least = {
          writing: Math.min(least.writing, spent.writing),
          rendering: Math.min(least.rendering, spent.rendering),
        };
      }
      rows.push({
        what: `writing : rendering, ${depth} bits`,
        value: least.writing / least.rendering,
        limit: 1,
      });
    }
    return rows;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

async function once(patch, depth, path) {
  const take = new Take(patch, {
    sampleRate: 48_000,
    length: { unit: 'seconds', value: 60 },
    tail: { unit: 'seconds', value: 0 },
  });
  // Rendered first as a whole, so that neither's time has the other's in it.
  const rendered = new Float64Array(take.totalFrames);
  let start = processorTime();
  for (let at = 0, frames = take.read(); frames > 0; frames = take.read()) {
    rendered.set(take.channels[0].subarray(0, frames), at);
    at += frames;
  }
  const rendering = processorTime() - start;
  start = processorTime();
  const wav = await openWav(path, {
    sampleRate: 48_000,
    channels: 1,
    depth,
    frames: rendered.length,
  });
  for (let at = 0; at < rendered.length; at += 128)
    wav.write([rendered.subarray(at, at + 128)], Math.min(128, rendered.length - at));
  await wav.finish();
  return { rendering, writing: processorTime() - start };
}
