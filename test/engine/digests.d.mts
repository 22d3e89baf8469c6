import type { Take } from '../../src/engine/take.ts';
import type { KINDS } from '../../src/modules/kinds.ts';
import type { readPatch } from '../../src/patch/read.ts';

export function digests(
  library: {
    readonly Take: typeof Take;
    readonly readPatch: typeof readPatch;
    readonly KINDS: typeof KINDS;
  },
  files: Readonly<Record<string, string>>,
): string;
