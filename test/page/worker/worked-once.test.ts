// What the page's engine works out from a patch, it works out once for sound, pictures and check: counted
// where it is worked out.

import { expect, it, vi } from 'vitest';
import * as levels from '../../../src/electrical/levels.ts';
import * as nets from '../../../src/electrical/nets.ts';
import { filesOf, Page } from './harness.ts';

vi.mock('../../../src/electrical/levels.ts', { spy: true });
vi.mock('../../../src/electrical/nets.ts', { spy: true });

it('finds the nets and the levels of a patch once for all that a moved setting asks for', async () => {
  const page = new Page();
  const opened = page.send({ type: 'open', files: filesOf('patches/two-bar-kit.yaml') });
  await page.answer(opened, 'findings');
  // The check asks for them, and the lines across the chart of volts.
  const levelled = vi.mocked(levels.patchLevels).mock.calls.map(([patch]) => patch);
  expect(levelled.length).toBe(new Set(levelled).size);
  vi.mocked(nets.netlist).mockClear();
  const change = { type: 'setting', module: 'mix', setting: 'level-1', text: '20 %' } as const;
  const moved = page.send({ type: 'change', change });
  await page.answer(moved, 'findings');
  const patches = vi.mocked(nets.netlist).mock.calls.map(([patch]) => patch);
  expect(patches.length).toBe(new Set(patches).size);
});
