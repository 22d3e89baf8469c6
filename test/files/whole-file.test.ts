// Files that are replaced: whole, with mode and links as they were, never over a change made meanwhile,
// and nothing of a dead run left over.

import { spawnSync } from 'node:child_process';
import fs, {
  appendFileSync,
  chmodSync,
  existsSync,
  linkSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { beforeEach, describe, expect, it } from 'vitest';
import { readInput } from '../../src/files/inputs.ts';
import { OutputError } from '../../src/files/output-error.ts';
import { takePartName } from '../../src/files/part-name.ts';
import { abandonUnfinished } from '../../src/files/unfinished.ts';
import { PartFile, replaceTexts, writeWhole } from '../../src/files/whole-file.ts';
import { scratch } from '../cli/run.ts';

let folder: string;
let path: string;
beforeEach(() => {
  folder = scratch();
  path = join(folder, 'hat.yaml');
  writeFileSync(path, 'old');
});

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const modeOf = (file: string): string => (statSync(file).mode & 0o7777).toString(8);

describe('a file that is replaced', () => {
  it.each([0o600, 0o640, 0o664, 0o755])('keeps its mode', (mode) => {
    chmodSync(path, mode);
    writeWhole(path, bytes('new'));
    expect(modeOf(path)).toBe(mode.toString(8));
    expect(readFileSync(path, 'utf8')).toBe('new');
  });

  it('is not to be read by more people while it is made', () => {
    chmodSync(path, 0o600);
    const part = new PartFile(path);
    const made = readdirSync(folder).find((name) => name.endsWith('.part')) as string;
    expect(modeOf(join(folder, made))).toBe('600');
    part.abandon();
  });

  // Only root, as whom tests run in containers, can give a file to another user. If that were left out in
  // silence, the next test would check nothing.
  it.runIf(process.env.CI !== undefined)('can be given to another owner where CI runs', () => {
    expect(process.getuid?.()).toBe(0);
  });

  it.runIf(process.getuid?.() === 0)('keeps its owner', () => {
    spawnSync('chown', ['1234:2345', path]);
    writeWhole(path, bytes('new'));
    expect(statSync(path)).toMatchObject({ uid: 1234, gid: 2345 });
  });

  it('keeps its other names, whatever the lengths, and its links', () => {
    const other = join(folder, 'other');
    const link = join(folder, 'link.yaml');
    linkSync(path, other);
    symlinkSync('hat.yaml', link);
    for (const text of ['longer than before', 'x', '']) {
      writeWhole(link, bytes(text));
      expect(readFileSync(other, 'utf8')).toBe(text);
      expect(statSync(other).ino).toBe(statSync(path).ino);
      expect(lstatSync(link).isSymbolicLink()).toBe(true);
    }
    expect(readdirSync(folder).sort()).toEqual(['hat.yaml', 'link.yaml', 'other']);
  });

  it('is left as it is if it is read-only', () => {
    chmodSync(path, 0o444);
    expect(() => writeWhole(path, bytes('new'))).toThrow('it is read-only');
    expect(readFileSync(path, 'utf8')).toBe('old');
  });

  it('is no link to nowhere and no ring of links', () => {
    symlinkSync('nowhere', join(folder, 'dangling'));
    symlinkSync('ring', join(folder, 'ring'));
    expect(() => writeWhole(join(folder, 'dangling'), bytes('x'))).toThrow('is not there');
    expect(() => writeWhole(join(folder, 'ring'), bytes('x'))).toThrow('round in a circle');
    expect(existsSync(join(folder, 'nowhere'))).toBe(false);
  });

  it('may have a name as long as the file system takes', () => {
    const long = join(folder, 'ä'.repeat(125));
    writeWhole(long, bytes('new'));
    expect(readFileSync(long, 'utf8')).toBe('new');
  });
});

describe('a file that was read', () => {
  it('is not written over, until it is to be changed', () => {
    readInput(path);
    expect(() => writeWhole(path, bytes('new'))).toThrow('would be lost');
    expect(readFileSync(path, 'utf8')).toBe('old');
    replaceTexts([{ path, before: 'old', after: 'new' }]);
    expect(readFileSync(path, 'utf8')).toBe('new');
  });

  it('is not taken for one that has its number by now', () => {
    // An editor that writes again and renames frees the number, which the next file gets.
    readInput(path);
    rmSync(path);
    const out = join(folder, 'out.wav');
    writeFileSync(out, 'x');
    writeFileSync(path, 'edited');
    writeWhole(out, bytes('new'));
    expect(readFileSync(out, 'utf8')).toBe('new');
  });

  it('that is gone by now is still not written over', () => {
    readInput(path);
    rmSync(path);
    expect(() => writeWhole(path, bytes('new'))).toThrow('would be lost');
  });
});

describe('texts to be changed', () => {
  it('are all left alone if one of them has changed', () => {
    const other = join(folder, 'part.yaml');
    writeFileSync(other, 'old');
    const texts = [path, other].map((file) => ({ path: file, before: 'old', after: 'new' }));
    appendFileSync(other, '!');
    expect(() => replaceTexts(texts)).toThrow(`${other}: could not be written: it has changed`);
    expect(readFileSync(path, 'utf8')).toBe('old');
    expect(readFileSync(other, 'utf8')).toBe('old!');
    expect(readdirSync(folder).sort()).toEqual(['hat.yaml', 'part.yaml']);
  });

  it('are not made again where the file is gone, or something else by now', () => {
    rmSync(path);
    const change = (): void => replaceTexts([{ path, before: 'old', after: 'new' }]);
    expect(change).toThrow(OutputError);
    expect(existsSync(path)).toBe(false);
    mkdirSync(path);
    expect(change).toThrow('it is a folder');
  });
});

describe('a new file', () => {
  it('is made only where there is nothing, even if something came meanwhile', () => {
    expect(() => writeWhole(path, bytes('new'), { isNew: true })).toThrow('this file exists');
    const other = join(folder, 'other.yaml');
    const part = new PartFile(other, { isNew: true });
    part.write(bytes('new'));
    writeFileSync(other, 'theirs');
    expect(() => part.finish()).toThrow('this file exists');
    expect(readFileSync(other, 'utf8')).toBe('theirs');
    expect(readdirSync(folder).sort()).toEqual(['hat.yaml', 'other.yaml']);
  });
});

describe('what is left behind', () => {
  /** Number of a process that has ended. */
  const dead = spawnSync(process.execPath, ['-e', 'console.log(process.pid)'], {
    encoding: 'utf8',
  }).stdout;
  /** The name that another process would have taken. */
  function partOf(pid: number): string {
    return takePartName(path).replace(/-\d+-\d+-\d+\.part$/, `-${pid}-0-0.part`);
  }

  it('by a dead run is removed by the next that writes the same, and nothing else is', () => {
    const [gone, alive] = [partOf(Number(dead)), partOf(process.ppid)];
    const foreign = [
      alive,
      // Another machine's, which may well be running.
      gone.replace(/forehear-[0-9a-f]{8}/, 'forehear-00000000'),
      // Another output's.
      gone.replace('hat.yaml', 'kick.yaml'),
      // Names that a person may have given.
      join(folder, 'hat.yaml.1-0.part'),
      join(folder, 'hat.yaml.forehear-mine.part'),
      join(folder, 'hat.yaml.part'),
    ];
    for (const file of [gone, ...foreign]) writeFileSync(file, 'x');
    writeWhole(path, bytes('new'));
    expect(existsSync(gone)).toBe(false);
    for (const file of foreign) expect(existsSync(file), file).toBe(true);
  });

  it('by a dead run goes even where the next one is refused', () => {
    const gone = partOf(Number(dead));
    writeFileSync(gone, 'x');
    expect(() => writeWhole(path, bytes('new'), { isNew: true })).toThrow('this file exists');
    expect(readdirSync(folder)).toEqual(['hat.yaml']);
  });

  it('by an earlier run of the same number is removed too, but not what is in the making', () => {
    const earlier = partOf(process.pid);
    writeFileSync(earlier, 'x');
    const part = new PartFile(path);
    expect(existsSync(earlier)).toBe(false);
    writeWhole(path, bytes('other'));
    part.write(bytes('new'));
    part.finish();
    expect(readFileSync(path, 'utf8')).toBe('new');
    expect(readdirSync(folder)).toEqual(['hat.yaml']);
  });

  it('has a name of its own in each thread', async () => {
    const built = new URL('../../dist/files/part-name.js', import.meta.url).href;
    const program = `
      const { parentPort, threadId } = require('node:worker_threads');
      import(${JSON.stringify(built)}).then(({ takePartName }) =>
        parentPort.postMessage({ name: takePartName(${JSON.stringify(path)}), threadId }));`;
    const worker = new Worker(program, { eval: true });
    const { name, threadId } = await new Promise<{ name: string; threadId: number }>((done) => {
      worker.once('message', done);
    });
    await worker.terminate();
    expect(threadId).toBeGreaterThan(0);
    expect(name).toMatch(new RegExp(`-${process.pid}-${threadId}-0\\.part$`));
  });

  it('by a full disk is nothing, as of a new patch', () => {
    const { writeSync } = fs;
    fs.writeSync = (() => {
      throw Object.assign(new Error('no space left'), { code: 'ENOSPC' });
    }) as typeof fs.writeSync;
    syncBuiltinESMExports();
    try {
      const other = join(folder, 'other.yaml');
      expect(() => writeWhole(other, bytes('new'), { isNew: true })).toThrow('the disk is full');
      expect(() => writeWhole(path, bytes('new'))).toThrow('the disk is full');
    } finally {
      fs.writeSync = writeSync;
      syncBuiltinESMExports();
    }
    expect(readdirSync(folder)).toEqual(['hat.yaml']);
    expect(readFileSync(path, 'utf8')).toBe('old');
  });

  it('takes the folders that were made for it with it, and no other', () => {
    const deep = join(folder, 'a', 'b', 'new.wav');
    expect(() => new PartFile(deep)).toThrow('new.wav: could not be written');
    new PartFile(deep, { makesFolder: true }).abandon();
    expect(readdirSync(folder)).toEqual(['hat.yaml']);
    const part = new PartFile(deep, { makesFolder: true });
    writeFileSync(join(folder, 'a', 'mine'), '');
    part.abandon();
    expect(readdirSync(join(folder, 'a'))).toEqual(['mine']);
    writeWhole(deep, bytes('new'), { makesFolder: true });
    expect(readFileSync(deep, 'utf8')).toBe('new');
  });

  it('by an end in the middle is nothing', () => {
    const parts = [new PartFile(path), new PartFile(join(folder, 'new.wav'))];
    for (const part of parts) part.write(bytes('new'));
    abandonUnfinished();
    expect(readdirSync(folder)).toEqual(['hat.yaml']);
    expect(readFileSync(path, 'utf8')).toBe('old');
  });
});
