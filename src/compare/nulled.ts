/** The difference of two clips. */

import { differenceDb } from '../measure/difference.ts';
import { WavFile } from '../wav/read-wav.ts';
import type { Nulled, NullTask } from './task.ts';

/** Nulls the first clip against each of the others. @throws what reading a file throws. */
export function nullEach({ files: [first, ...others] }: NullTask): Nulled {
  const one = samplesOf(first as string);
  return { differencesDb: others.map((other) => differenceDb(one, samplesOf(other))) };
}

function samplesOf(path: string): readonly Float64Array[] {
  const file = new WavFile(path);
  try {
    const samples = Array.from(
      { length: file.channels },
      () => new Float64Array(file.layout.frames),
    );
    let at = 0;
    for (const { channels, frames } of file.blocks) {
      samples.forEach((all, c) => {
        all.set((channels[c] as Float64Array).subarray(0, frames), at);
      });
      at += frames;
    }
    return samples;
  } finally {
    file.close();
  }
}
