/**
 * Files that share a process leave it as it was, so that they pass in any order. Vitest loads this before every test
 * file; what it registers runs after all of that file.
 */

import { afterAll } from 'vitest';
import { leftBehind, stateNow } from './left-behind.ts';

const before = stateNow();

afterAll(() => {
  const left = leftBehind(before, stateNow());
  if (left.length > 0) throw new Error(`this file leaves behind:\n${left.join('\n')}`);
});
