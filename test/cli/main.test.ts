// The command as a whole: help, versions, and the small commands.

import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { forehear, forehearAlone, scratch } from './run.ts';
import { FAULTY, workshop } from './writings.ts';

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

  it('says which word a command does not know, and which it does', () => {
    const { status, stderr } = forehear(scratch(), ['completion', 'cish']);
    expect(status).toBe(2);
    expect(stderr).toBe('shell cish: allowed choices are bash, zsh, fish.\n');
  });

  it('exits with 2 and its help when nothing is asked', () => {
    const { status } = forehear(scratch(), []);
    expect(status).toBe(2);
  });
});

// All other tests rely on it: what they run stands in a process that has run others before.
describe('a process of its own', () => {
  it.each<[string, readonly string[], number, string?]>([
    ['help', ['render', '--help'], 0],
    ['nothing asked', [], 2],
    ['an option that is none', ['render', 'hat.yaml', '--colour', 'red', '--json'], 2],
    ['a file that is not there', ['check', 'none.yaml', '--json'], 2],
    ['a fault', ['check', FAULTY], 1],
    ['a patch from standard input', ['check', '-', '--json'], 2, 'modules: 3\n'],
    ['times from standard input', ['clock', '--tap'], 0, '0\n0.5\n1\n'],
    ['bytes on standard output', ['timing', 'hat.yaml', '--midi', '-'], 0],
    ['files', ['render', 'hat.yaml', '--seconds', '0.1', '--stems', '--json'], 0],
    ['threads', ['compare', 'hat.yaml', '--vary', 'seed=a,b', '--seconds', '0.1', '--json'], 0],
  ])('ends as one that has run others: %s', (_what, args, status, input = '') => {
    const [alone, among] = [workshop(), workshop()];
    const ended = forehearAlone(alone, args, input);
    expect(ended.status, ended.stderr).toBe(status);
    expect(forehear(among, args, input)).toEqual(ended);
    expect(readdirSync(among, { recursive: true })).toEqual(
      readdirSync(alone, { recursive: true }),
    );
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

  it.each(['', '.', '..', '.yaml', 'hats/', 'hats/.yml'])('wants a name: "%s" is none', (name) => {
    const folder = scratch();
    mkdirSync(join(folder, 'hats'));
    const { status, stderr } = forehear(folder, ['new', name]);
    expect({ status, stderr }).toEqual({
      status: 2,
      stderr: `new "${name}": the name of the patch is missing, such as my-hat.\n`,
    });
    expect(readdirSync(folder, { recursive: true })).toEqual(['hats']);
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
