/** What is left of one clip when another is subtracted from it. */

import { WavFile } from '../wav/read-wav.ts';
import type { Nulled, NullTask } from './task.ts';

/** Nulls the first clip against each of the others. @throws what reading a file throws. */
export function nullEach({ files: [first, ...others] }: NullTask): Nulled {
  const one = samplesOf(first as string);
  return { differencesDb: others.map((other) => differenceDb(one, other)) };
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

/**
 * Subtracts one clip from another, sample by sample, and compares what is left with what there was:
 * 10 log10(sum (a - b)^2 / ((sum a^2 + sum b^2) / 2)). Two unrelated sounds give +3 dB, two that
 * differ by a gain of 0.1 dB give -39 dB. The shorter one is followed by silence.
 */
function differenceDb(one: readonly Float64Array[], path: string): number | null {
  const other = samplesOf(path);
  let left = 0;
  let whole = 0;
  for (let c = 0; c < Math.max(one.length, other.length); c++) {
    // A mono clip is heard on both sides.
    const a = one[Math.min(c, one.length - 1)] as Float64Array;
    const b = other[Math.min(c, other.length - 1)] as Float64Array;
    for (let n = 0; n < Math.max(a.length, b.length); n++) {
      const x = a[n] ?? 0;
      const y = b[n] ?? 0;
      left += (x - y) * (x - y);
      whole += x * x + y * y;
    }
  }
  return left > 0 ? 10 * Math.log10(left / (whole / 2)) : null;
}
