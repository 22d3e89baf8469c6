// The command as a whole: help, versions, and the small commands.

import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { forehear, scratch } from './run.ts';

describe('forehear', () => {
  it('lists every command in its help', () => {
    const { status, stdout } = forehear(scratch(), ['--help']);
    expect(status).toBe(0);
    for (const name of Object.keys(COMMANDS))
      expect(stdout).toMatch(new RegExp(`^  ${name}\\b`, 'm'));
  });

  it('shows examples in the help of every command', () => {
    for (const name of Object.keys(COMMANDS)) {
      const { status, stdout } = forehear(scratch(), [name, '--help']);
      expect(status).toBe(0);
      expect(stdout).toContain(`forehear ${name}`);
    }
  });

  it('prints its version', () => {
    expect(forehear(scratch(), ['--version']).stdout).toMatch(/^\d+\.\d+\.\d+\n$/);
  });

  it('suggests the command that was meant, and exits with 2', () => {
    const { status, stderr } = forehear(scratch(), ['rendr', 'x.yaml']);
    expect(status).toBe(2);
    expect(stderr).toContain('render');
  });

  it('exits with 2 and its help when nothing is asked', () => {
    const { status } = forehear(scratch(), []);
    expect(status).toBe(2);
  });
});

describe('forehear new', () => {
  it('writes a patch that renders, even under an odd name', () => {
    const folder = scratch();
    const name = 'my "hat": #1';
    expect(forehear(folder, ['new', name]).status).toBe(0);
    const { status, stderr } = forehear(folder, ['render', `${name}.yaml`]);
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
  });

  it('leaves a file alone that exists', () => {
    const folder = scratch();
    writeFileSync(join(folder, 'hat.yaml'), 'mine');
    const { status, stderr } = forehear(folder, ['new', 'hat']);
    expect(status).toBe(2);
    expect(stderr).toContain('hat.yaml: this file exists');
    expect(readFileSync(join(folder, 'hat.yaml'), 'utf8')).toBe('mine');
  });

  it('says so when the folder is not there', () => {
    const folder = scratch();
    const { status, stderr } = forehear(folder, ['new', 'no/such/hat', '--json']);
    expect(status).toBe(2);
    expect(stderr).toContain('its folder does not exist');
    expect(existsSync(join(folder, 'no'))).toBe(false);
  });
});

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
