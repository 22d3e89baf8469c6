// Saving: byte for byte, only to the files that were read or to one new file beside the patch, and
// never over what has changed meanwhile.

import {
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
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeEach, describe, expect, it } from 'vitest';
import { save } from '../../../src/page/host/saving.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { scratch } from '../../cli/run.ts';

// A byte order mark, line ends of both sorts, tabs, comments, and no line end at the end.
const MAIN = '\uFEFF# mine\r\ntitle: "Ä ☃"   # kept\n\tmodules: {}\r\n# last';
const PART = 'modules: {} # part\n';

let root: string;
let folder: string;
let main: string;
let part: string;
let files: PatchTexts;

beforeEach(() => {
  root = scratch();
  folder = join(root, 'patches');
  mkdirSync(folder);
  main = join(folder, 'kit.yaml');
  part = join(folder, 'hat.yaml');
  writeFileSync(main, MAIN);
  writeFileSync(part, PART);
  files = { main, set: [], texts: { [main]: MAIN, [part]: PART } };
});

function onDisk(path: string): string {
  return readFileSync(path, 'utf8');
}

describe('saving to the files that were read', () => {
  it('writes every byte as the page has it, and leaves the others alone', () => {
    const changed = MAIN.replace('# mine', '# mine still');
    const answer = save({ texts: { [main]: changed }, before: { [main]: MAIN } }, files);
    expect(answer).toEqual({ type: 'saved', files: [main] });
    expect(readFileSync(main)).toEqual(Buffer.from(changed));
    expect(onDisk(part)).toBe(PART);
    expect(readdirSync(folder).toSorted()).toEqual(['hat.yaml', 'kit.yaml']);
  });

  it('gives back any text (property)', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const before = { [main]: onDisk(main) };
        // Node's own decoder drops a mark at the start.
        before[main] = new TextDecoder('utf-8', { ignoreBOM: true }).decode(readFileSync(main));
        expect(save({ texts: { [main]: text }, before }, files).type).toBe('saved');
        expect(readFileSync(main)).toEqual(Buffer.from(text));
      }),
    );
  });

  it('writes nothing at all if one of them has changed on the disk', () => {
    writeFileSync(part, 'other');
    const request = {
      texts: { [main]: 'new', [part]: 'new' },
      before: { [main]: MAIN, [part]: PART },
    };
    expect(save(request, files)).toMatchObject({ type: 'conflict', file: part });
    expect([onDisk(main), onDisk(part)]).toEqual([MAIN, 'other']);
    expect(save({ ...request, overwrite: true }, files)).toMatchObject({ type: 'saved' });
    expect([onDisk(main), onDisk(part)]).toEqual(['new', 'new']);
  });

  it('takes a file that is gone, or that the page does not know, for changed', () => {
    expect(save({ texts: { [main]: 'new' }, before: {} }, files).type).toBe('conflict');
    rmSync(main);
    const request = { texts: { [main]: 'new' }, before: { [main]: MAIN } };
    expect(save(request, files)).toMatchObject({
      type: 'conflict',
      message: `${main} is gone, or cannot be read. Nothing was written.`,
    });
    expect(existsSync(main)).toBe(false);
  });

  it('writes no other file, whatever it is called', () => {
    for (const name of ['other.yaml', join(root, 'x.yaml'), '../x.yaml', '__proto__', 'toString']) {
      const request = {
        texts: Object.fromEntries([[name, 'new']]),
        before: Object.fromEntries([[name, '']]),
        overwrite: true,
      };
      expect(save(request, files), name).toMatchObject({ type: 'refused' });
    }
    expect(readdirSync(root)).toEqual(['patches']);
  });

  it('keeps a link to the file a link', () => {
    const place = join(root, 'elsewhere.yaml');
    writeFileSync(place, PART);
    rmSync(part);
    symlinkSync(place, part);
    expect(save({ texts: { [part]: 'new' }, before: { [part]: PART } }, files).type).toBe('saved');
    expect(lstatSync(part).isSymbolicLink()).toBe(true);
    expect(onDisk(place)).toBe('new');
  });

  it('keeps what another has changed in a file beside it when told to write over it', () => {
    writeFileSync(main, 'theirs');
    const request = { texts: { [main]: 'mine' }, before: { [main]: MAIN }, overwrite: true };
    const kept = join(folder, 'kit-from-disk.yaml');
    expect(save(request, files)).toEqual({ type: 'saved', files: [main], kept: [kept] });
    expect([onDisk(main), onDisk(kept)]).toEqual(['mine', 'theirs']);
    // The page still knows what it first read: what it now writes over is kept again, beside the first.
    writeFileSync(main, 'theirs again');
    const second = join(folder, 'kit-from-disk-2.yaml');
    expect(save(request, files)).toMatchObject({ kept: [second] });
    expect([onDisk(main), onDisk(kept), onDisk(second)]).toEqual([
      'mine',
      'theirs',
      'theirs again',
    ]);
    // Nothing of another's is lost where the file holds what the page wrote, or knew.
    expect(save({ ...request, before: { [main]: 'mine' } }, files)).not.toHaveProperty('kept');
    expect(save({ ...request, before: {} }, files)).not.toHaveProperty('kept');
  });

  it('loses nothing of two pages that save one after the other', () => {
    const before = { [main]: MAIN };
    expect(save({ texts: { [main]: 'of one' }, before }, files).type).toBe('saved');
    const other = { texts: { [main]: 'of the other' }, before };
    expect(save(other, files)).toMatchObject({ type: 'conflict' });
    expect(onDisk(main)).toBe('of one');
    expect(save({ ...other, overwrite: true }, files).type).toBe('saved');
    expect(readdirSync(folder).map((name) => onDisk(join(folder, name)))).toContain('of one');
  });

  it('writes none of several files if one is read-only, and keeps modes and other names', () => {
    chmodSync(part, 0o444);
    const texts = { [main]: 'new', [part]: 'new' };
    const before = { [main]: MAIN, [part]: PART };
    expect(save({ texts, before }, files)).toMatchObject({
      type: 'refused',
      message: expect.stringContaining('it is read-only'),
    });
    expect([onDisk(main), onDisk(part)]).toEqual([MAIN, PART]);
    chmodSync(part, 0o640);
    const second = join(root, 'second.yaml');
    linkSync(part, second);
    expect(save({ texts, before }, files).type).toBe('saved');
    expect(onDisk(second)).toBe('new');
    expect(statSync(part).mode & 0o777).toBe(0o640);
    expect(readdirSync(folder).toSorted()).toEqual(['hat.yaml', 'kit.yaml']);
  });

  it('says why where the system will not', () => {
    rmSync(main);
    mkdirSync(main);
    const request = { texts: { [main]: 'new' }, before: {}, overwrite: true };
    expect(save(request, files)).toMatchObject({
      type: 'refused',
      message: expect.stringContaining('it is a folder'),
    });
  });
});

describe('saving as a new file', () => {
  function saveAs(as: string, more: Record<string, string> = {}) {
    return save({ texts: { [main]: 'new', ...more }, before: { [main]: MAIN }, as }, files);
  }

  it('puts it beside the patch, which stays as it is', () => {
    const path = join(folder, 'kit two.yaml');
    expect(saveAs('kit two.yaml')).toEqual({ type: 'saved', files: [path] });
    expect([onDisk(path), onDisk(main)]).toEqual(['new', MAIN]);
  });

  it.each([
    '../x.yaml',
    '..\\x.yaml',
    'a/x.yaml',
    '/tmp/x.yaml',
    'C:x.yaml',
    '.hidden.yaml',
    '.yaml',
    '',
    'x',
    'x.txt',
    'x.yaml\0',
    'x\n.yaml',
    'x.yaml/',
    `${'x'.repeat(200)}.yaml`,
  ])('refuses %j as a name', (name) => {
    expect(saveAs(name).type).toBe('refused');
    expect(readdirSync(root)).toEqual(['patches']);
    expect(readdirSync(folder).toSorted()).toEqual(['hat.yaml', 'kit.yaml']);
  });

  it('writes over nothing, a link to nowhere included', () => {
    writeFileSync(join(folder, 'there.yaml'), 'mine');
    symlinkSync(join(root, 'outside.yaml'), join(folder, 'link.yaml'));
    for (const name of ['there.yaml', 'link.yaml', 'hat.yaml'])
      expect(saveAs(name), name).toMatchObject({ type: 'refused' });
    expect(onDisk(join(folder, 'there.yaml'))).toBe('mine');
    expect(onDisk(part)).toBe(PART);
    expect(existsSync(join(root, 'outside.yaml'))).toBe(false);
  });

  it('takes the patch’s own name for saving as always', () => {
    expect(saveAs('kit.yaml')).toEqual({ type: 'saved', files: [main] });
    writeFileSync(main, 'changed');
    expect(saveAs('kit.yaml').type).toBe('conflict');
  });

  it('takes the patch alone', () => {
    expect(saveAs('x.yaml', { [part]: 'new' }).type).toBe('refused');
    expect(save({ texts: { [part]: 'new' }, before: {}, as: 'x.yaml' }, files).type).toBe(
      'refused',
    );
  });

  it('is the only way to save what came from standard input', () => {
    const piped = { main: '-', set: [], texts: { '-': 'old' } };
    const request = { texts: { '-': 'new' }, before: { '-': 'old' } };
    expect(save(request, piped)).toMatchObject({
      type: 'refused',
      message: expect.stringContaining('standard input'),
    });
  });
});
