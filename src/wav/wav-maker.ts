/**
 * Who made a WAV file. Those made here name their software, and have their chunks in the order of `wav-format`:
 * programs that edit sound write their own.
 */

import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import type { Maker } from '../files/made-here.ts';
import { SOFTWARE } from './wav-format.ts';

/**
 * Tells who made a WAV file that is there.
 * @throws the system's error if it cannot be read.
 */
export function makerOfWav(path: string): Maker {
  const handle = openSync(path, 'r');
  try {
    const head = Buffer.alloc(64);
    const tail = Buffer.alloc(64);
    readSync(handle, head, 0, head.length, 0);
    readSync(handle, tail, 0, tail.length, Math.max(0, fstatSync(handle).size - tail.length));
    const software = tail.lastIndexOf('ISFT');
    if (
      software < 0 ||
      !tail
        .subarray(software + 8)
        .toString('latin1')
        .startsWith(SOFTWARE)
    )
      return 'other';
    const first = head.toString('latin1', 12, 16);
    return first === 'fmt ' || head.toString('latin1', 48, 52) === 'fmt ' ? 'here' : 'changed';
  } finally {
    closeSync(handle);
  }
}
