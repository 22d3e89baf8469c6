// The temporary folder of a run of the tests: whatever is left in it goes with it.

import { existsSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { expect, it } from 'vitest';
import temporary from '../.config/temporary.ts';

it('is there for every test, and is gone at the end of the run with all that is in it', () => {
  const folder = tmpdir();
  expect(basename(folder)).toMatch(/^forehear-tests-/);
  const end = temporary();
  const left = mkdtempSync(join(tmpdir(), 'left-'));
  try {
    expect(dirname(dirname(left))).toBe(folder);
    writeFileSync(join(left, 'hat.wav'), '');
  } finally {
    end();
  }
  expect(existsSync(dirname(left))).toBe(false);
  expect(tmpdir()).toBe(folder);
});
