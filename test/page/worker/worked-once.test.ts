// What the page's engine works out from a patch, it works out once for sound, pictures and check: counted
// where it is worked out.

import { beforeEach, expect, it, vi } from 'vitest';
import * as levels from '../../../src/electrical/levels.ts';
import * as nets from '../../../src/electrical/nets.ts';
import * as control from '../../../src/engine/control-path.ts';
import * as plans from '../../../src/engine/plan.ts';
import { filesOf, Page } from './harness.ts';

vi.mock('../../../src/electrical/levels.ts', { spy: true });
vi.mock('../../../src/electrical/nets.ts', { spy: true });
vi.mock('../../../src/engine/control-path.ts', { spy: true });
vi.mock('../../../src/engine/plan.ts', { spy: true });

beforeEach(() => {
  vi.clearAllMocks();
});

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

it.each([
  ['its own time', 'patches/two-bar-kit.yaml'],
  ['the time of pulses, whose bars are heard', 'patches/followed-clock.yaml'],
])('opens a patch that has %s with its nets, plan and control path found once', async (_, file) => {
  const page = new Page();
  await page.answer(page.send({ type: 'open', files: filesOf(file) }), 'findings');
  for (const spied of [nets.netlist, control.controlPath, plans.plan]) {
    const calls = vi.mocked(spied as (...all: readonly unknown[]) => unknown).mock.calls;
    // The leads of a meter make other nets.
    const own = calls.filter(([, leads]) => !Array.isArray(leads) || leads.length === 0);
    const patches = own.map(([patch]) => patch);
    expect(patches.length).toBeGreaterThan(0);
    if (spied !== plans.plan) expect(patches.length).toBe(new Set(patches).size);
    else expect(calls.length).toBe(new Set(calls.map(([, list]) => list)).size);
  }
});
