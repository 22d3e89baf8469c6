// The command as a whole: help, versions, and that it ends the same in the shared test process as in its own process.

import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.ts';
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

// All other tests rely on this: they run commands in a process that has run others before.
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
