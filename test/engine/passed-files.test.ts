// Through how many files a render goes, as V8 counts the calls of the built library: few enough to read one after
// another. 28 is what was aimed at when the tree was laid out, not a measure from elsewhere.

import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';

it('a render of the hat passes through at most 28 files', () => {
  const script = 'test/engine/passed-files.mjs';
  const printed = execFileSync(process.execPath, [script, 'patches/closed-hat.yaml'], {
    encoding: 'utf8',
  });
  const files = printed.trim().split('\n');
  // That something was counted: the renderer, and the circuits of the patch's kinds.
  expect(files).toContain('engine/renderer.js');
  expect(files.filter((file) => /^modules\/[a-z-]+\.js$/.test(file))).toHaveLength(7);
  expect(files.length, files.join(' ')).toBeLessThanOrEqual(28);
});
