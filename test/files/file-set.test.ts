// Files that belong together: the whole old set or the whole new one, and never another's file touched.

import { spawnSync } from 'node:child_process';
import {
  appendFileSync,
  cpSync,
  existsSync,
  linkSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { FileSet } from '../../src/files/file-set.ts';
import { readInput } from '../../src/files/inputs.ts';
import { abandonUnfinished } from '../../src/files/unfinished.ts';
import { scratch } from '../cli/run.ts';

let root: string;
let folder: string;
beforeEach(() => {
  root = scratch();
  folder = join(root, 'set');
});

const members = (texts: Record<string, string>) => Object.keys(texts).map((name) => ({ name }));

function made(texts: Record<string, string>): FileSet {
  const set = new FileSet(folder, 'kit');
  for (const [name, text] of Object.entries(texts)) writeFileSync(join(set.stage, name), text);
  return set;
}

function write(texts: Record<string, string>): void {
  made(texts).commit(members(texts));
}

/** What a person sees, and whether anything else is there than the hidden list. */
function seen(): Record<string, string> {
  const names = readdirSync(folder);
  expect(names.filter((name) => name.startsWith('.'))).toEqual(['.kit.forehear.json']);
  expect(readdirSync(root)).toEqual(['set']);
  return Object.fromEntries(
    names
      .filter((name) => !name.startsWith('.'))
      .map((name) => [name, readFileSync(join(folder, name), 'utf8')]),
  );
}

const OLD = { '01.wav': 'old one', '02.wav': 'old two', '03.wav': 'old three', 'page.html': 'old' };
const NEW = { '01.wav': 'new 1', '02.wav': 'new 2', 'page.html': 'new page' };

describe('a set', () => {
  it('is there whole, and takes what is left of a larger earlier one with it', () => {
    write(OLD);
    expect(seen()).toEqual(OLD);
    write(NEW);
    expect(seen()).toEqual(NEW);
  });

  it('goes from 300 files to 2 and leaves 2', () => {
    const many = Object.fromEntries(Array.from({ length: 300 }, (_, n) => [`${n}.wav`, `${n}`]));
    write(many);
    write({ '1.wav': 'a', '2.wav': 'b' });
    expect(seen()).toEqual({ '1.wav': 'a', '2.wav': 'b' });
  });

  it('stays as it was until all of the next is there', () => {
    write(OLD);
    const set = made(NEW);
    expect(readFileSync(join(folder, '01.wav'), 'utf8')).toBe('old one');
    set.abandon();
    expect(seen()).toEqual(OLD);
    made(NEW);
    abandonUnfinished();
    expect(seen()).toEqual(OLD);
  });

  it('is whole where another run makes the folder meanwhile, beside what that has made', () => {
    const set = made(NEW);
    const other = new FileSet(folder, 'other');
    writeFileSync(join(other.stage, 'other.txt'), 'theirs');
    other.commit([{ name: 'other.txt' }]);
    set.commit(members(NEW));
    const lists = ['.kit.forehear.json', '.other.forehear.json'];
    expect(readdirSync(folder).sort()).toEqual([...lists, 'other.txt', ...Object.keys(NEW)].sort());
    expect(readFileSync(join(folder, '01.wav'), 'utf8')).toBe('new 1');
    expect(readdirSync(root)).toEqual(['set']);
  });

  it('leaves a file alone that comes meanwhile with the folder', () => {
    const set = made(NEW);
    mkdirSync(folder);
    writeFileSync(join(folder, '01.wav'), 'mine');
    expect(() => set.commit(members(NEW))).toThrow('which no earlier run has made');
    expect(readdirSync(folder)).toEqual(['01.wav']);
    expect(readFileSync(join(folder, '01.wav'), 'utf8')).toBe('mine');
    expect(readdirSync(root)).toEqual(['set']);
  });

  it('takes the folders that were made for it with it, and no other', () => {
    folder = join(root, 'a', 'b', 'set');
    made(NEW).abandon();
    expect(readdirSync(root)).toEqual([]);
    const set = made(NEW);
    writeFileSync(join(root, 'a', 'mine'), '');
    abandonUnfinished();
    set.abandon();
    expect(readdirSync(join(root, 'a'))).toEqual(['mine']);
  });

  it('is not made in part: a file that takes no place is told before the first is put in its', () => {
    write(OLD);
    mkdirSync(join(folder, 'z.wav'));
    const texts = { ...NEW, 'z.wav': 'x' };
    expect(() => made(texts).commit(members(texts))).toThrow(
      `${join(folder, 'z.wav')}: could not be written: it is a folder`,
    );
    expect(readFileSync(join(folder, '01.wav'), 'utf8')).toBe('old one');
    expect(readdirSync(folder).filter((name) => name.includes('.part'))).toEqual([]);
  });

  it('never removes or writes over a file that it has not made', () => {
    write(OLD);
    writeFileSync(join(folder, '04.wav'), 'mine');
    writeFileSync(join(folder, 'notes.txt'), 'mine');
    appendFileSync(join(folder, '03.wav'), ' and mine');
    write(NEW);
    expect(seen()).toEqual({
      ...NEW,
      '03.wav': 'old three and mine',
      '04.wav': 'mine',
      'notes.txt': 'mine',
    });
    const more = { ...NEW, '04.wav': 'new' };
    expect(() => made(more).commit(members(more))).toThrow('which no earlier run has made');
    appendFileSync(join(folder, '01.wav'), ' and mine');
    expect(() => write(NEW)).toThrow('was changed since an earlier run made it');
    expect(readFileSync(join(folder, '01.wav'), 'utf8')).toBe('new 1 and mine');
  });

  it('says whose a file is that a run has made for another set', () => {
    write(OLD);
    const other = new FileSet(folder, 'snare-lesson');
    writeFileSync(join(other.stage, '01.wav'), 'snare');
    expect(() => other.commit([{ name: '01.wav' }])).toThrow(
      'an earlier run made it for another set of files, kit; it was left alone',
    );
    expect(seen()).toEqual(OLD);
    // What was changed since is nobody's.
    appendFileSync(join(folder, '01.wav'), ' and mine');
    expect(() => new FileSet(folder, 'snare-lesson').plan([{ name: '01.wav' }])).toThrow(
      'which no earlier run has made',
    );
  });

  it('knows its files where the disk keeps times to two seconds', () => {
    write(OLD);
    for (const name of Object.keys(OLD)) {
      const time = 2 * Math.floor(statSync(join(folder, name)).mtimeMs / 2000);
      utimesSync(join(folder, name), time, time);
    }
    write(NEW);
    expect(seen()).toEqual(NEW);
  });

  it('never removes a file that this run has read', () => {
    write(OLD);
    readInput(join(folder, '03.wav'));
    write(NEW);
    expect(seen()).toEqual({ ...NEW, '03.wav': OLD['03.wav'] });
    readInput(join(folder, '01.wav'));
    expect(() => write(NEW)).toThrow('would be lost');
  });

  it('keeps the other names of its files', () => {
    write(OLD);
    linkSync(join(folder, '01.wav'), join(folder, 'favourite.wav'));
    write(NEW);
    expect(readFileSync(join(folder, 'favourite.wav'), 'utf8')).toBe('new 1');
    write(OLD);
    expect(readFileSync(join(folder, 'favourite.wav'), 'utf8')).toBe('old one');
  });
});

describe('a set whose program was killed', () => {
  const dead = spawnSync(process.execPath, ['-e', 'console.log(process.pid)'], {
    encoding: 'utf8',
  }).stdout.trim();

  /** Makes a set's stage that of a dead process. */
  function killed(set: FileSet): string {
    const stage = dirname(set.stage);
    const left = stage.replace(/-\d+-\d+-\d+\.part$/, `-${dead}-0-0.part`);
    cpSync(stage, left, { recursive: true, preserveTimestamps: true });
    set.abandon();
    return left;
  }

  it('is the old one, and the next run removes what was begun', () => {
    write(OLD);
    killed(made(NEW));
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toHaveLength(1);
    new FileSet(folder, 'kit').abandon();
    expect(seen()).toEqual(OLD);
  });

  it('before its folder was there leaves nothing either', () => {
    const left = killed(made(NEW));
    expect(dirname(left)).toBe(root);
    new FileSet(folder, 'kit').abandon();
    expect(readdirSync(root)).toEqual([]);
  });

  // The moments of putting in place: after so many of the files.
  it.each([0, 1, 2, 3])('while %d files were in their places becomes the new one', (count) => {
    write(OLD);
    const left = killed(made(NEW));
    const files = Object.keys(NEW).map((name) => {
      const now = statSync(join(left, 'files', name));
      const before = statSync(join(folder, name));
      return {
        name,
        left: { size: now.size, mtimeMs: now.mtimeMs },
        before: { size: before.size, mtimeMs: before.mtimeMs },
      };
    });
    writeFileSync(join(left, 'journal.json'), JSON.stringify({ files, keepsOthers: false }));
    for (const { name } of files.slice(0, count))
      renameSync(join(left, 'files', name), join(folder, name));
    new FileSet(folder, 'kit').abandon();
    expect(seen()).toEqual(NEW);
    // What it did then is known to be its own.
    write(OLD);
    expect(seen()).toEqual(OLD);
  });

  it('does not write over what a person has changed since', () => {
    write(OLD);
    const left = killed(made(NEW));
    const before = statSync(join(folder, '01.wav'));
    const now = statSync(join(left, 'files/01.wav'));
    const file = {
      name: '01.wav',
      left: { size: now.size, mtimeMs: now.mtimeMs },
      before: { size: before.size, mtimeMs: before.mtimeMs },
    };
    writeFileSync(
      join(left, 'journal.json'),
      JSON.stringify({ files: [file], keepsOthers: false }),
    );
    appendFileSync(join(folder, '01.wav'), ' and mine');
    new FileSet(folder, 'kit').abandon();
    expect(readFileSync(join(folder, '01.wav'), 'utf8')).toBe('old one and mine');
    expect(existsSync(left)).toBe(false);
  });

  it('is not touched while that program lives', () => {
    write(OLD);
    const set = made(NEW);
    const stage = dirname(set.stage);
    const other = stage.replace(/-\d+-\d+-\d+\.part$/, `-${process.ppid}-0-0.part`);
    cpSync(stage, other, { recursive: true });
    set.abandon();
    new FileSet(folder, 'kit').abandon();
    expect(existsSync(other)).toBe(true);
  });
});
