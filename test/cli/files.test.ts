// What a command may do to a person's files: never write over what it read, by whatever name; take
// plain files alone; leave nothing unfinished. Walks over every writing command × every input.

import { spawnSync } from 'node:child_process';
import {
  appendFileSync,
  closeSync,
  cpSync,
  existsSync,
  linkSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join, relative } from 'node:path';
import { Command } from 'commander';
import { describe, expect, it, vi } from 'vitest';
import { COMMANDS } from '../../src/cli/commands.ts';
import { mend, readToMend } from '../../src/cli/mend.ts';
import { planOutputs, WAV } from '../../src/cli/outputs.ts';
import { findingsIn } from '../../src/findings/check.ts';
import { contextOf } from '../../src/findings/context.ts';
import { runs } from '../runs.ts';
import { contents } from './contents.ts';
import { BIN, forehear, forehearBytes, interrupted, MORE_THAN_A_PIPE, scratch } from './run.ts';
import { definitions, FAULTY, INPUTS, type Input, workshop, writings } from './writings.ts';

const isSearch = runs(1).numRuns > 1;
const ALL = await writings();
const FILES = ALL.filter(({ ending }) => ending !== '/');
const FOLDERS = ALL.filter(({ ending }) => ending === '/');

/** What an editor of texts, notes or sound may make of a file: more at its end, less, a byte in the middle. */
function changesOf(file: Buffer): readonly Buffer[] {
  const isWav = file.toString('latin1', 8, 12) === 'WAVE';
  const turned = Buffer.from(file);
  const middle = file.length >> 1;
  turned[middle] = (turned[middle] as number) ^ 1;
  const ends = [Buffer.concat([file, Buffer.from('more\n')]), file.subarray(0, -12)];
  // Samples are not looked at; who writes them writes the chunks anew, and names itself.
  return isWav ? [file.subarray(0, -26), ...ends.slice(1)] : [turned, ...ends];
}

/** Whether the run was refused as a wrong request, in words, and left every file as it was. */
function expectRefused(folder: string, args: readonly string[], words: RegExp): void {
  const before = contents(folder);
  const names = readdirSync(folder);
  const { status, stdout, stderr } = forehear(folder, args);
  expect(readdirSync(folder)).toEqual(names);
  expect({ status, stdout }, stderr).toEqual({ status: 2, stdout: '' });
  expect(stderr).toMatch(words);
  expect(stderr).not.toMatch(/\n {4}at /);
  expect(contents(folder)).toEqual(before);
}

describe('the commands', () => {
  it('name every file that they write or read by an option that the tests below know', async () => {
    // What `--into` names is changed in its place: test/cli/commands/measure-into.
    const reading = new Set(['--rack', '--against', '--into', '--answers']);
    const strange = (await definitions()).flatMap((command) =>
      command.options
        .filter(({ flags }) => /<[^>]*(?:file|folder|path|dir)[^>]*>/i.test(flags))
        .filter(({ long }) => !reading.has(long as string))
        .filter(({ long }) => !ALL.some((w) => w.command === command.name() && w.option === long))
        .map(({ flags }) => `${command.name()} ${flags}`),
    );
    expect(strange).toEqual([]);
  });
});

describe.each(FILES)('$command $option', ({ command, option, ending, args, reads, hasForce }) => {
  // Another rack than the patch's own, where a command takes one.
  const inputs: readonly Input[] = reads.includes('rack') ? [...reads, 'other rack'] : reads;
  const force = hasForce ? ['--force'] : [];
  const ways = {
    'a link to it': (folder: string, input: string) => {
      symlinkSync(input, join(folder, `named${ending}`));
      return `named${ending}`;
    },
    // The same file by another name, as letters of the other case give on a disk that does not tell them apart.
    'another name of it': (folder: string, input: string) => {
      linkSync(join(folder, input), join(folder, `named${ending}`));
      return `./named${ending}`;
    },
    'its own name': (_: string, input: string) => `../${input}`,
  };
  const cases = inputs.flatMap((input) =>
    Object.keys(ways).map((way) => [input, way as keyof typeof ways] as const),
  );

  it.each(cases)('never writes over the %s by %s', (input, way) => {
    const folder = workshop();
    const inner = join(folder, 'inner');
    mkdirSync(inner);
    const name = ways[way](folder, INPUTS[input]);
    const output = way === 'its own name' ? `inner/${name}` : name;
    const rack = input === 'other rack' ? ['--rack', INPUTS[input]] : [];
    expectRefused(
      folder,
      [command, ...args, ...rack, option, output, ...force],
      /which was read|was read by this command|is another format/,
    );
  });

  it('writes unasked over what an earlier run made alone: not over others\u2019 work, nor changed files', () => {
    const folder = workshop();
    const name = `out${ending}`;
    const out = join(folder, name);
    const run = [command, ...args, option, name];
    writeFileSync(out, 'three weeks of work');
    expectRefused(folder, run, /out\.\w+: .*left alone.*--force/);
    expect(hasForce).toBe(true);
    const forced = forehear(folder, [...run, '--force']);
    expect(forced.status, forced.stderr).toBe(0);
    const made = readFileSync(out);
    expect(made.includes('three weeks')).toBe(false);
    // Whatever was made once more is to be filled in or changed by hand: it is never written over.
    if (ending === '.yaml') return expectRefused(folder, run, /left alone/);
    const again = forehear(folder, run);
    expect(again.status, again.stderr).toBe(0);
    expect(readFileSync(out).equals(made)).toBe(true);
    for (const changed of changesOf(made)) {
      writeFileSync(out, changed);
      expectRefused(folder, run, /left alone/);
    }
  }, 60_000);

  it('takes no ending of another format', () => {
    for (const wrong of ['.flac', '.mp3', '.txt', ending === '.yaml' ? '.wav' : '.yaml'])
      expectRefused(workshop(), [command, ...args, option, `no/out${wrong}`], /is another format/);
  });

  it('takes no empty name, no folder, no link to nowhere and no read-only file', () => {
    const folder = workshop();
    mkdirSync(join(folder, `folder${ending}`));
    symlinkSync('nowhere', join(folder, `link${ending}`));
    writeFileSync(join(folder, `kept${ending}`), 'old', { mode: 0o444 });
    const refuses = (name: string, words: RegExp): void => {
      const before = readdirSync(folder);
      const { status, stderr } = forehear(folder, [command, ...args, option, name, ...force]);
      expect(status, stderr).toBe(2);
      expect(stderr).toMatch(words);
      expect(readdirSync(folder)).toEqual(before);
    };
    refuses('', /is missing/);
    refuses(`folder${ending}`, /it is a folder/);
    refuses(`link${ending}`, /a link to a file that is not there/);
    refuses(`kept${ending}`, /it is read-only/);
    expect(readFileSync(join(folder, `kept${ending}`), 'utf8')).toBe('old');
  });

  it('writes the same bytes to standard output as to a file, and no file called -', () => {
    const folder = workshop();
    const run = [command, ...args, option];
    expect(forehear(folder, [...run, `out${ending}`]).status).toBe(0);
    const before = readdirSync(folder);
    const { status, stdout, stderr } = forehearBytes(folder, [...run, '-']);
    expect(status, stderr.toString()).toBe(0);
    expect(stdout.equals(readFileSync(join(folder, `out${ending}`)))).toBe(true);
    expect(readdirSync(folder)).toEqual(before);
  });

  it('keeps the mode, a link and the other names of the file that it replaces', () => {
    const folder = workshop();
    const out = join(folder, `out${ending}`);
    writeFileSync(out, 'old', { mode: 0o640 });
    linkSync(out, join(folder, 'second'));
    symlinkSync(`out${ending}`, join(folder, `link${ending}`));
    const { status, stderr } = forehear(folder, [
      command,
      ...args,
      option,
      `link${ending}`,
      ...force,
    ]);
    expect(status, stderr).toBe(0);
    expect(readFileSync(out, 'latin1')).not.toBe('old');
    expect(readFileSync(join(folder, 'second')).equals(readFileSync(out))).toBe(true);
    expect((statSync(out).mode & 0o777).toString(8)).toBe('640');
    expect(readdirSync(folder).filter((name) => name.includes('.part'))).toEqual([]);
  });
});

describe.each(FOLDERS)('$command $option', ({ command, option, args: own, reads, hasForce }) => {
  // What a command writes beside the folder is not tried here.
  const args = hasForce ? [...own, '--force'] : own;
  const run = [command, ...args, option, 'set'];
  let first: string | undefined;
  /** The workshop with what the command writes, by one run for all tests; a copy of it. */
  const written = (): string => {
    if (first === undefined) {
      first = workshop();
      const { status, stderr } = forehear(first, run);
      expect(status, stderr).toBe(0);
    }
    const copy = scratch();
    cpSync(first, copy, { recursive: true, preserveTimestamps: true });
    return copy;
  };

  it('never writes over what it reads, whatever that is called', () => {
    const names = readdirSync(join(written(), 'set')).filter((name) => !name.startsWith('.'));
    const [clip, page] = [names.find((n) => n.endsWith('.wav')), names.at(-1)];
    for (const [index, input] of reads.entries())
      for (const [turn, name] of [clip, page].entries()) {
        // Each input by one of the two in turn; by both in a search.
        if (!isSearch && (index + turn) % 2 !== 0) continue;
        const folder = workshop();
        mkdirSync(join(folder, 'set'));
        linkSync(join(folder, INPUTS[input]), join(folder, 'set', name as string));
        expectRefused(folder, run, /which was read/);
      }
  });

  it('leaves a file of another alone, and one that was changed since it was made', () => {
    const folder = written();
    writeFileSync(join(folder, 'set/notes.txt'), 'mine');
    expect(forehear(folder, run).status).toBe(0);
    expect(readFileSync(join(folder, 'set/notes.txt'), 'utf8')).toBe('mine');
    const clip = readdirSync(join(folder, 'set')).find((name) => name.endsWith('.wav'));
    appendFileSync(join(folder, 'set', clip as string), 'mine');
    expectRefused(folder, run, /was changed since an earlier run made it/);
    const other = workshop();
    mkdirSync(join(other, 'set'));
    writeFileSync(join(other, 'set', clip as string), 'mine');
    expectRefused(other, run, /which no earlier run has made/);
  });

  it('takes no standard output and no file for a folder', () => {
    expectRefused(workshop(), [command, ...args, option, '-'], /standard output takes one/);
    expectRefused(workshop(), [command, ...args, option, ''], /is missing/);
    expectRefused(workshop(), [command, ...args, option, 'hat.yaml'], /this is a file/);
  });
});

describe('a folder that a command makes', () => {
  const VARIED = ['hat.yaml', '--vary', 'seed=a,b'];
  it.each([
    [['render', 'hat.yaml', '--tap', 'shape.nothing']],
    [['render', 'hat.yaml', '-o', 'new/deep/hat.wav', '--tap', 'shape.nothing']],
    [['render', 'silent.yaml', '--strokes', 'new/deep/strokes']],
    [['lesson', 'silent.yaml', '-o', 'new/deep/lesson']],
    [['compare', ...VARIED, '--join', '-o', 'new/deep/comparison']],
  ])('goes with it if nothing comes into it: %j', (args) => {
    const folder = workshop();
    const rhythm = 'drums: { kind: rhythm, channels: [a], patterns: { p: { a: x } } }';
    writeFileSync(join(folder, 'silent.yaml'), `modules: { ${rhythm}, out: { kind: output } }\n`);
    const names = readdirSync(folder);
    expect(forehear(folder, args)).toMatchObject({ status: 2 });
    expect(readdirSync(folder)).toEqual(names);
    // What was there before, empty or not, is another's.
    mkdirSync(join(folder, 'renders'), { recursive: true });
    mkdirSync(join(folder, 'new/deep'), { recursive: true });
    forehear(folder, args);
    expect(readdirSync(join(folder, 'new'))).toEqual(['deep']);
    expect(existsSync(join(folder, 'renders'))).toBe(true);
  });
});

describe('several files of one run', () => {
  it('are never one file', () => {
    const folder = workshop();
    const run = ['timing', 'hat.yaml', '--bars', '1'];
    const twice = (...outputs: string[]): void =>
      expectRefused(folder, [...run, ...outputs], /this is the same (?:file|place) as/);
    twice('--svg', 'x', '--midi', 'x');
    mkdirSync(join(folder, 'y'));
    twice('--svg', 'x', '--wav', './y/../x');
    twice('--midi', '-', '--wav', '-');
    writeFileSync(join(folder, 'a.svg'), '');
    linkSync(join(folder, 'a.svg'), join(folder, 'b.mid'));
    twice('--svg', 'a.svg', '--midi', 'b.mid');
  });

  it('are stems and taps that leave what was read, and what another has made, alone', () => {
    const folder = workshop();
    const run = ['render', 'hat.yaml', '--seconds', '0.2', '-o', 'mix.wav'];
    const made = ['--stems', '--tap', 'voice.shape.out'];
    expect(forehear(folder, [...run, ...made]).status).toBe(0);
    const names = readdirSync(folder).filter((name) => /^mix\..+\.wav$/.test(name));
    expect(names.length).toBeGreaterThan(1);
    for (const name of names) {
      const other = workshop();
      linkSync(join(other, 'voice.yaml'), join(other, name));
      expectRefused(other, [...run, ...made], /which was read/);
      const third = workshop();
      writeFileSync(join(third, name), 'mine');
      expectRefused(third, [...run, ...made], /which no earlier run has made/);
    }
  });
});

describe('standard output', () => {
  it('is not filled with a file where it is a terminal', () => {
    vi.spyOn(process, 'stdout', 'get').mockReturnValue({ isTTY: true } as typeof process.stdout);
    try {
      expect(() => planOutputs([{ option: '-o', path: '-', format: WAV }])).toThrow(
        'standard output is a terminal',
      );
    } finally {
      vi.restoreAllMocks();
    }
  });

  const PRINTS: readonly (readonly string[])[] = [
    ['--help'],
    ['help', 'render'],
    ['--version'],
    ['render', 'hat.yaml', '--seconds', '0.1'],
    ['render', 'hat.yaml', '--seconds', '0.1', '--json'],
    ['render', 'hat.yaml', '--seconds', '5', '-o', '-'],
    ['check', 'hat.yaml'],
    ['check', 'hat.yaml', '--json'],
    ['check', FAULTY, '--fix'],
    ['check', '--explain'],
    ['volts', 'hat.yaml'],
    ['survey', 'hat.yaml'],
    ['measure', 'take.wav'],
    ['calibrate', 'dials.yaml'],
    ['timing', 'hat.yaml'],
    ['timing', 'hat.yaml', '--seconds', '3600', '--csv'],
    ['timing', 'hat.yaml', '--json'],
    ['timing', 'hat.yaml', '--midi', '-'],
    ['clock'],
    ['compare', 'hat.yaml', '--vary', 'seed=a,b', '--seconds', '0.1', '--jobs', '1'],
    ['fit', 'hat.yaml', 'take.wav', '--vary', 'voice.shape.decay', '--tries', '20'],
    ['lesson', 'hat.yaml', '--bars', '1', '--rate', '8000'],
    ['listen', 'hat.yaml'],
    ['tab', 'take.wav', '--tempo', '120'],
    ['sheet', 'hat.yaml', '--no-clip', '--seconds', '0.1'],
    ['new', 'mine'],
    ['kinds'],
    ['completion', 'zsh'],
  ];

  it('is tried full for every command', async () => {
    const names = (await definitions()).map((command) => command.name());
    expect(names.filter((name) => !PRINTS.some(([first]) => first === name))).toEqual([]);
  });

  // If they were left out in silence, the next tests would check nothing.
  it.runIf(process.env.CI !== undefined)('is there to be tried where CI runs', () => {
    expect(existsSync('/dev/full')).toBe(true);
  });

  // Linux has a disk that is always full; elsewhere the way is the same.
  it.runIf(existsSync('/dev/full')).each(PRINTS)(
    'that is full ends %s %s %s with 3 and one line',
    (...args) => {
      const full = openSync('/dev/full', 'w');
      const { status, stderr } = spawnSync(process.execPath, [BIN, ...args], {
        cwd: workshop(),
        encoding: 'utf8',
        stdio: ['ignore', full, 'pipe'],
      });
      closeSync(full);
      const lines = stderr.split('\n').filter((line) => line.startsWith('standard output: '));
      expect({ status, lines }, stderr).toEqual({
        status: 3,
        lines: [
          'standard output: could not be written: the disk is full. Free some space, or write to another disk.',
        ],
      });
      expect(stderr).not.toMatch(/\n {4}at |Forehear failed/);
    },
  );

  it('that is closed early, as by head, ends a command quietly', () => {
    const { stdout, stderr } = spawnSync(
      'sh',
      ['-c', `"${process.execPath}" "${BIN}" timing hat.yaml --seconds 36000 --csv | head -n 1`],
      { cwd: workshop(), encoding: 'utf8' },
    );
    expect(stdout.split('\n')).toHaveLength(2);
    expect(stderr).toBe('');
  });
});

describe('what is read', () => {
  const strange: { readonly [what: string]: (path: string) => void } = {
    'a pipe': (path) => spawnSync('mkfifo', [path]),
    'a folder': (path) => mkdirSync(path),
    'a device': (path) => symlinkSync('/dev/zero', path),
    'longer than 4 MiB': (path) => {
      writeFileSync(path, '');
      truncateSync(path, 5 * 1024 * 1024);
    },
  };
  const kinds = Object.entries(strange);

  function refused(folder: string, args: readonly string[]): string {
    const { status, stderr } = spawnSync(process.execPath, [BIN, ...args], {
      cwd: folder,
      encoding: 'utf8',
      // A second would do: it must neither wait nor go on for ever.
      timeout: 30_000,
    });
    expect(status, stderr).toBe(2);
    return stderr;
  }

  it.each(kinds)('is told where the patch names it if it is %s', (what, make) => {
    const folder = scratch();
    make(join(folder, 'strange.yaml'));
    writeFileSync(join(folder, 'part.yaml'), 'parts:\n  voice: strange.yaml\n');
    writeFileSync(
      join(folder, 'rack.yaml'),
      'rack: strange.yaml\nmodules: { out: { kind: output } }\n',
    );
    const words = new RegExp(`the file "strange.yaml" is ${what}`);
    const [part, rack] = [
      refused(folder, ['check', 'part.yaml']),
      refused(folder, ['check', 'rack.yaml']),
    ];
    expect(part).toMatch(/^part\.yaml:2:10: /);
    expect(part).toMatch(words);
    expect(rack).toMatch(/^rack\.yaml:1:7: /);
    expect(rack).toMatch(words);
  });

  it.each(kinds)('is refused as a patch, a rack and a recording if it is %s', (what, make) => {
    const folder = workshop();
    make(join(folder, 'strange'));
    const words = new RegExp(`strange: this is ${what}`);
    expect(refused(folder, ['check', 'strange'])).toMatch(words);
    expect(refused(folder, ['check', 'hat.yaml', '--rack', 'strange'])).toMatch(words);
    // A recording may be long.
    if (what.startsWith('longer')) return;
    expect(refused(folder, ['measure', 'strange'])).toMatch(words);
    expect(refused(folder, ['fit', 'hat.yaml', 'strange', '--vary', 'voice.shape.decay'])).toMatch(
      words,
    );
  });

  it('is a device by its own path', () => {
    const folder = scratch();
    writeFileSync(
      join(folder, 'a.yaml'),
      `rack: ${relative(folder, '/dev/zero')}\nmodules: { out: { kind: output } }\n`,
    );
    expect(refused(folder, ['render', 'a.yaml'])).toMatch(/^a\.yaml:1:7: .*is a device/);
  });

  it('is not standard input without an end', () => {
    const endless = openSync('/dev/zero', 'r');
    const { status, stderr } = spawnSync(process.execPath, [BIN, 'check', '-'], {
      stdio: [endless, 'pipe', 'pipe'],
      encoding: 'utf8',
      timeout: 30_000,
    });
    closeSync(endless);
    expect(status).toBe(2);
    expect(stderr).toMatch(/^standard input: this is longer than 4 MiB/);
  });

  // All at once, since each has to start.
  it('from standard input can be interrupted, whatever is written', async () => {
    const lines = ALL.filter(({ option }) => option !== '--svg' && option !== '--midi').map(
      ({ command, args }) =>
        [command, '-', ...args.slice(1), ...(command === 'fit' ? ['-o', 'x.yaml'] : [])] as const,
    );
    // The pipe stays open, as a terminal at which nobody types on.
    const ends = await Promise.all(
      lines.map((line) => interrupted(workshop(), line, (_, hasRead) => hasRead, MORE_THAN_A_PIPE)),
    );
    for (const [index, { status, signal, stderr }] of ends.entries())
      expect([status, signal], `${lines[index]?.join(' ')}: ${stderr}`).not.toEqual([0, null]);
    // One that waited for the rest would wait for ever.
  });
});

describe('a file that has changed since it was read', () => {
  it('is left alone by check --fix --write', async () => {
    const folder = workshop();
    const path = join(folder, FAULTY);
    const options = { tolerance: 0, write: true as const, quiet: true as const };
    const read = readToMend(path, [], options);
    const findings = findingsIn(contextOf(read.patch));
    const edited = `${readFileSync(path, 'utf8')}# mine\n`;
    writeFileSync(path, edited);
    expect(findings.length, 'the patch has a finding to mend').toBeGreaterThan(0);
    await expect(mend(read, options)).rejects.toThrow('it has changed since it was read');
    expect(readFileSync(path, 'utf8')).toBe(edited);
  });

  it('is left alone by fit --write, and the fitted patch is kept beside it', async () => {
    const folder = workshop();
    const path = join(folder, 'hat.yaml');
    const program = new Command().exitOverride();
    (await COMMANDS.fit?.())?.register(program);
    const args = ['fit', path, join(folder, 'take.wav'), '--vary', 'voice.shape.decay'];
    const done = program.parseAsync([...args, '--tries', '20', '--write', '--quiet'], {
      from: 'user',
    });
    // All is read by then, and the fit has begun.
    appendFileSync(path, '# mine\n');
    await expect(done).rejects.toThrow(
      /it has changed since it was read.*The fitted patch is in .*hat-fitted\.yaml/s,
    );
    expect(readFileSync(path, 'utf8')).toMatch(/# mine\n$/);
    expect(readFileSync(path, 'utf8')).not.toMatch(/set:/);
    expect(readFileSync(join(folder, 'hat-fitted.yaml'), 'utf8')).toMatch(/voice\.yaml/);
  });
});

describe('forehear new', () => {
  it('leaves a link to nowhere and a file alone, and makes no file called -', () => {
    const folder = scratch();
    symlinkSync('nowhere', join(folder, 'link.yaml'));
    writeFileSync(join(folder, 'there.yaml'), 'mine');
    for (const name of ['link', 'there', '-']) {
      const { status } = forehear(folder, ['new', name]);
      expect(status, name).toBe(2);
    }
    expect(readdirSync(folder).sort()).toEqual(['link.yaml', 'there.yaml']);
    expect(readFileSync(join(folder, 'there.yaml'), 'utf8')).toBe('mine');
  });
});
