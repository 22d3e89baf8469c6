// `forehear new`: a starter patch, and names that it cannot have.

import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { forehear, scratch } from '../run.ts';

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
