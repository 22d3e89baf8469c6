// The start: V8's compiled form of the bundle is made at first use and used only as it was made, for
// the Node and the text that it was made for. V8 itself does not check: of 60 forms with one bit
// flipped, given to it as they were, 9 crashed the process.

import { spawn, spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { CompiledForm } from '../../src/cli/compiled-form.ts';
import { BIN, PATCHES, scratch } from './run.ts';

const BUNDLES = ['command.cjs', 'circuits.wasm', 'forehear.cjs', 'start.cjs'];

/** What a sheet holds: see `page/host/bundles`. */
const PAGE = ['interface.js', 'engine.js', 'notices.txt'];
const ELK = fileURLToPath(new URL('../../node_modules/elkjs', import.meta.url));

/** A folder with the command as it is after it was installed, and nothing else. */
function installed(folder = scratch()): string {
  for (const name of BUNDLES) cpSync(join(BIN, '..', name), join(folder, name));
  return folder;
}

const RENDER = ['render', join(PATCHES, 'closed-hat.yaml'), '--seconds', '0.2', '-o'];

/** What one command ends with. @param name of the clip. */
function run(folder: string, name = 'clip.wav') {
  const args = [join(folder, 'forehear.cjs'), ...RENDER, join(folder, name)];
  const { status, signal, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  return { status, signal, stderr, clip: readFileSync(join(folder, name)) };
}

/** Names of what lies there beside the bundles and clips. */
function left(folder: string): string[] {
  return readdirSync(folder).filter((name) => !BUNDLES.includes(name) && !name.endsWith('.wav'));
}

describe('the start of the command', () => {
  it('makes the compiled form at first use, then uses it, with the same clip', () => {
    const folder = installed();
    const first = run(folder);
    // A flag that this Node's V8 does not know would be told of here.
    expect(first).toMatchObject({ status: 0, stderr: '' });
    const [name, ...others] = left(folder) as [string, ...string[]];
    expect(name).toBe(`command-${process.version}-${process.platform}-${process.arch}.cache`);
    expect(others).toEqual([]);
    const source = readFileSync(join(folder, 'command.cjs'));
    expect(new CompiledForm(folder, source).read()).toBeDefined();
    expect(run(folder).clip).toEqual(first.clip);
  });

  it('makes it after no command that has not gone through the code', () => {
    const folder = installed();
    const bin = join(folder, 'forehear.cjs');
    for (const args of [['--version'], ['render', '--help'], ['render', 'nothing.yaml']])
      spawnSync(process.execPath, [bin, ...args]);
    expect(left(folder)).toEqual([]);
  });

  it('ends and renders alike with a form that is flipped, cut, empty or another text', () => {
    const folder = installed();
    const { clip } = run(folder);
    const form = join(folder, left(folder)[0] as string);
    const whole = readFileSync(form);
    const flipped = [0.2, 0.4, 0.5, 0.6, 0.8].map((share) => {
      const bytes = Buffer.from(whole);
      const at = Math.floor(share * bytes.length);
      bytes[at] = (bytes[at] as number) ^ 1;
      return bytes;
    });
    // The mark that it begins with has 8 bytes.
    const cut = [0, 1, 7, 8, 9, 4096, whole.length - 1].map((end) => whole.subarray(0, end));
    const source = readFileSync(join(folder, 'command.cjs'));
    for (const bytes of [...flipped, ...cut, source]) {
      writeFileSync(form, bytes);
      expect(new CompiledForm(folder, source).read()).toBeUndefined();
    }
    // None is given to V8, so what comes of one of each sort is what comes of all.
    const [empty, , , mark, , , shorter] = cut;
    for (const bytes of [flipped[2], empty, mark, shorter, source]) {
      writeFileSync(form, bytes as Buffer);
      expect(run(folder)).toEqual({ status: 0, signal: null, stderr: expect.anything(), clip });
      // And mends it.
      expect(readFileSync(form).length).toBeGreaterThan(whole.length / 2);
    }
  });

  it('does without where the form cannot be written', () => {
    const folder = installed();
    const name = `command-${process.version}-${process.platform}-${process.arch}.cache`;
    mkdirSync(join(folder, name));
    const { status, stderr } = run(folder);
    expect(status, stderr).toBe(0);
    expect(left(folder)).toEqual([name]);
  });

  it('bears first uses at the same time', async () => {
    const folder = installed();
    const ends = await Promise.all(
      Array.from({ length: 5 }, (_, index) => {
        const args = [join(folder, 'forehear.cjs'), ...RENDER, join(folder, `${index}.wav`)];
        const child = spawn(process.execPath, args, { stdio: 'ignore' });
        return new Promise<number | null>((resolve) => child.on('close', resolve));
      }),
    );
    expect(ends).toEqual([0, 0, 0, 0, 0]);
    expect(left(folder)).toHaveLength(1);
    const clips = ends.map((_, index) => readFileSync(join(folder, `${index}.wav`)));
    for (const clip of clips) expect(clip).toEqual(clips[0]);
  });

  it('keeps the compiled form of the library of diagrams too, and draws alike with it, a spoilt one and none', () => {
    const whole = scratch();
    const folder = installed(join(whole, 'bin'));
    cpSync(join(BIN, '..', 'diagram-worker.js'), join(folder, 'diagram-worker.js'));
    for (const name of PAGE) cpSync(join(BIN, '../../page', name), join(whole, 'page', name));
    mkdirSync(join(whole, 'node_modules'));
    symlinkSync(ELK, join(whole, 'node_modules/elkjs'));
    const drawn = (name: string): string => {
      const args = ['sheet', join(PATCHES, 'closed-hat.yaml'), '-o', join(folder, 'sheet.html')];
      const { status, stderr } = spawnSync(
        process.execPath,
        [join(folder, 'forehear.cjs'), ...args],
        { encoding: 'utf8' },
      );
      expect(status, `${name}: ${stderr}`).toBe(0);
      return readFileSync(join(folder, 'sheet.html'), 'utf8');
    };
    const first = drawn('none');
    expect(first).not.toContain('Laid out plainly');
    const form = join(
      folder,
      `diagrams-${process.version}-${process.platform}-${process.arch}.cache`,
    );
    const kept = readFileSync(form);
    expect(drawn('kept')).toBe(first);
    const flipped = Buffer.from(kept);
    flipped[kept.length >> 1] = (flipped[kept.length >> 1] as number) ^ 1;
    writeFileSync(form, flipped);
    expect(drawn('flipped')).toBe(first);
    // And mends it.
    expect(readFileSync(form)).not.toEqual(flipped);
  });

  it('tells an old Node what it needs, as the package says it', () => {
    const { engines } = JSON.parse(
      readFileSync(new URL('../../package.json', import.meta.url), 'utf8'),
    );
    expect(engines.node).toBe('^20.19.0 || >=22.12.0');
    const under = (version: string) => {
      const code = `Object.defineProperty(process.versions, 'node', { value: '${version}' });
        process.argv = [process.execPath, 'forehear', '--version'];
        require(${JSON.stringify(BIN)});`;
      return spawnSync(process.execPath, ['-e', code], { encoding: 'utf8' });
    };
    for (const version of ['12.22.0', '18.20.4', '20.18.3', '21.7.3', '22.11.0'])
      expect(under(version)).toMatchObject({
        status: 2,
        stdout: '',
        stderr: `Forehear needs Node.js 20.19 or newer of version 20, or 22.12 or newer, and this is ${version}.\n`,
      });
    for (const version of ['20.19.0', '20.20.2', '22.12.0', '23.0.0', '24.1.0'])
      expect(under(version)).toMatchObject({ status: 0, stderr: '' });
  });
});

describe('CompiledForm', () => {
  afterEach(() => vi.restoreAllMocks());

  const source = Buffer.from('text');
  const form = Buffer.from('what V8 made of it');
  const name = `command-${process.version}-${process.platform}-${process.arch}.cache`;

  it('gives back what it was given', () => {
    const folder = scratch();
    new CompiledForm(folder, source).keep(form);
    expect(new CompiledForm(folder, source).read()).toEqual(form);
  });

  it('gives nothing once a bit is another, or the end is missing, or there is more', () => {
    const folder = scratch();
    new CompiledForm(folder, source).keep(form);
    const path = join(folder, name);
    const whole = readFileSync(path);
    const changed = fc.oneof(
      fc.nat({ max: 8 * whole.length - 1 }).map((bit) => {
        const bytes = Buffer.from(whole);
        bytes[bit >> 3] = (bytes[bit >> 3] as number) ^ (1 << (bit & 7));
        return bytes;
      }),
      fc.nat({ max: whole.length - 1 }).map((end) => whole.subarray(0, end)),
      fc.uint8Array({ minLength: 1 }).map((more) => Buffer.concat([whole, more])),
    );
    fc.assert(
      fc.property(changed, (bytes) => {
        writeFileSync(path, bytes);
        expect(new CompiledForm(folder, source).read()).toBeUndefined();
      }),
    );
  });

  it('gives nothing for another text, V8 or Node', () => {
    const folder = scratch();
    new CompiledForm(folder, source).keep(form);
    expect(new CompiledForm(folder, Buffer.from('next')).read()).toBeUndefined();
    vi.spyOn(process, 'versions', 'get').mockReturnValue({ ...process.versions, v8: '11.3.244.8' });
    expect(new CompiledForm(folder, source).read()).toBeUndefined();
    vi.restoreAllMocks();
    expect(new CompiledForm(folder, source).read()).toEqual(form);
    vi.spyOn(process, 'version', 'get').mockReturnValue('v20.19.0');
    expect(new CompiledForm(folder, source).read()).toBeUndefined();
    // Nor under its name.
    writeFileSync(
      join(folder, name.replace(/v\d+\.\d+\.\d+/, 'v20.19.0')),
      readFileSync(join(folder, name)),
    );
    expect(new CompiledForm(folder, source).read()).toBeUndefined();
  });
});
