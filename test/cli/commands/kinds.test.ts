// `forehear kinds`: what it prints of each kind, and that each example is audible.

import { describe, expect, it } from 'vitest';
import { KINDS } from '../../../src/modules/kinds.ts';
import { forehear, scratch } from '../run.ts';

describe('forehear kinds', () => {
  // An example is the text of a file, to be copied as it is.
  it.each([undefined, ...KINDS.map(({ kind }) => kind)])(
    'fits the tables of %s into 100 columns',
    (kind) => {
      const { stdout } = forehear(scratch(), kind === undefined ? ['kinds'] : ['kinds', kind]);
      const [tables = ''] = stdout.split('\nExample\n');
      expect(tables.split('\n').filter((line) => line.length > 100)).toEqual([]);
    },
  );

  it('lists every kind', () => {
    const { stdout } = forehear(scratch(), ['kinds']);
    for (const { kind } of KINDS) expect(stdout).toMatch(new RegExp(`^${kind}\\b`, 'm'));
  });

  it('says how far a kind is true to its circuit, in words and as data', () => {
    const limits = KINDS.find(({ kind }) => kind === 'fixed-bank')?.limits ?? [];
    expect(limits.length).toBeGreaterThan(0);
    const { stdout } = forehear(scratch(), ['kinds', 'fixed-bank']);
    for (const limit of limits) expect(stdout.replace(/\s+/g, ' ')).toContain(limit);
    const data = JSON.parse(forehear(scratch(), ['kinds', 'fixed-bank', '--json']).stdout);
    expect(data.kinds[0].limits).toEqual(limits);
  });

  it.each(KINDS.map(({ kind }) => kind))(
    'shows %s, whose example renders to something audible',
    (kind) => {
      const folder = scratch();
      const { status, stdout } = forehear(folder, ['kinds', kind, '--json']);
      expect(status).toBe(0);
      const [shown] = JSON.parse(stdout).kinds as { example: string }[];
      const run = forehear(folder, ['render', '-', '--json', '--quiet'], shown?.example);
      expect(run.stderr).toBe('');
      const [file] = JSON.parse(run.stdout).files;
      // -60 dBFS: quieter would be no example.
      expect(file.peakDbfs).toBeGreaterThan(-60);
      expect(file.clipped).toBe(0);
    },
  );

  it('suggests the kind that was meant', () => {
    const { status, stderr } = forehear(scratch(), ['kinds', 'envelop']);
    expect(status).toBe(2);
    expect(stderr).toContain('Did you mean envelope?');
  });
});
