// Completion, in the shells themselves as far as they are installed: bash is on every machine that runs
// the tests; if zsh or fish are missing, the test says so, and does not check them.

import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../../src/cli/commands.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { forehear, scratch } from '../run.ts';
import { definitions } from '../writings.ts';

const DEFINITIONS = await definitions();
const SCRIPTS = new Map(
  ['bash', 'zsh', 'fish'].map((shell) => [
    shell,
    forehear(scratch(), ['completion', shell]).stdout,
  ]),
);

function isThere(shell: string): boolean {
  const there = spawnSync(shell, ['-c', 'true']).status === 0;
  if (!there) process.stderr.write(`${shell} is not installed: its completion was not checked\n`);
  return there;
}
const HAS = { bash: isThere('bash'), zsh: isThere('zsh'), fish: isThere('fish') };

/** A folder with something to complete. */
function folder(): string {
  const made = scratch();
  mkdirSync(join(made, 'kits'));
  for (const name of ['my hat.yaml', 'snare.yaml']) writeFileSync(join(made, name), '');
  for (const [shell, script] of SCRIPTS) writeFileSync(join(made, `c.${shell}`), script);
  return made;
}

/** What bash offers for the last of some words. */
function bash(words: readonly string[]): readonly string[] {
  const quoted = ['forehear', ...words].map((word) => `'${word}'`).join(' ');
  const script = `source c.bash; COMP_WORDS=(${quoted}); COMP_CWORD=${words.length}; _forehear; printf '%s\\n' "\${COMPREPLY[@]}"`;
  const { stdout, stderr } = spawnSync('bash', ['--norc', '-c', script], {
    cwd: folder(),
    encoding: 'utf8',
  });
  expect(stderr).toBe('');
  return stdout.split('\n').filter((line) => line !== '');
}

/** What fish offers at the end of a line. */
function fish(line: string): readonly string[] {
  const { stdout, stderr } = spawnSync(
    'fish',
    ['--no-config', '-c', `source c.fish; complete -C '${line}'`],
    { cwd: folder(), encoding: 'utf8' },
  );
  expect(stderr).toBe('');
  return stdout.split('\n').flatMap((one) => one.split('\t')[0] || []);
}

// Elsewhere a shell may be missing; CI installs all three, so that nothing is left out there.
it.runIf(process.env.CI !== undefined)('every shell is there where CI runs', () => {
  expect(HAS).toEqual({ bash: true, zsh: true, fish: true });
});

describe.runIf(HAS.bash)('bash completes', () => {
  it('every command', () => {
    expect(bash([''])).toEqual(
      expect.arrayContaining([...Object.keys(COMMANDS), 'help', '--help', '--version']),
    );
    expect(bash(['ren'])).toEqual(['render']);
  });

  it.each(DEFINITIONS.map((command) => [command.name(), command] as const))(
    'every option of %s',
    (name, command) => {
      const all = command.options.map(({ long }) => long);
      expect([...bash([name, '--'])].sort()).toEqual([...all, '--help'].sort());
    },
  );

  it('choices, kinds and rules', () => {
    expect(bash(['render', 'snare.yaml', '--depth', ''])).toEqual(['16', '24', '32f']);
    expect(bash(['kinds', ''])).toEqual(KINDS.map(({ kind }) => kind));
    expect(bash(['check', '--explain', 'cli'])).toEqual(['clips']);
    expect(bash(['completion', 'z'])).toEqual(['zsh']);
    expect(bash(['help', 'tim'])).toEqual(['timing']);
  });

  it('files where there is one to give, and folders', () => {
    expect(bash(['render', 'my'])).toEqual(['my hat.yaml']);
    expect(bash(['render', 'snare.yaml', '--rack', 'sn'])).toEqual(['snare.yaml']);
    expect(bash(['compare', 'snare.yaml', '-o', ''])).toEqual(['kits']);
    expect(bash(['fit', 'a.yaml', 'sn'])).toEqual(['snare.yaml']);
    expect(bash(['measure', 'a.wav', 'b.wav', 'sn'])).toEqual(['snare.yaml']);
    expect(bash(['render', '--set', 'a', '=', 'b', 'sn'])).toEqual(['snare.yaml']);
    // One patch is all that it takes, and a number is nobody's to guess.
    expect(bash(['render', 'snare.yaml', 'sn'])).toEqual([]);
    expect(bash(['render', '--rate', ''])).toEqual([]);
  });
});

describe.runIf(HAS.fish)('fish completes', () => {
  it('every command', () => {
    expect(fish('forehear ')).toEqual(expect.arrayContaining(Object.keys(COMMANDS)));
  });

  it.each(DEFINITIONS.map((command) => [command.name(), command] as const))(
    'every option of %s',
    (name, command) => {
      const all = command.options.map(({ long }) => long);
      expect(fish(`forehear ${name} --`)).toEqual(expect.arrayContaining([...all, '--help']));
    },
  );

  it('choices, kinds, files and folders', () => {
    expect(fish('forehear render --depth ')).toEqual(['16', '24', '32f']);
    expect(fish('forehear kinds amp')).toEqual(['amplifier']);
    expect(fish('forehear render sn')).toEqual(['snare.yaml']);
    expect(fish('forehear compare -o ki')).toEqual(['kits/']);
  });
});

// What zsh offers can be seen at a terminal alone; here its script is parsed, and loaded after compinit.
describe.runIf(HAS.zsh)('zsh', () => {
  it('takes the script', () => {
    const made = folder();
    const run = (args: readonly string[]) =>
      spawnSync('zsh', ['-f', ...args], { cwd: made, encoding: 'utf8' });
    expect(run(['-n', 'c.zsh'])).toMatchObject({ status: 0, stderr: '' });
    const loaded = run([
      '-c',
      'autoload -Uz compinit && compinit -D -u && source ./c.zsh && print $_comps[forehear]',
    ]);
    expect(loaded).toMatchObject({ status: 0, stdout: '_forehear\n', stderr: '' });
  });
});
