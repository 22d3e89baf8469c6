// `forehear listen` as a person runs it: the address, the page, changes on the disk, and its end.

import { type ChildProcess, spawn } from 'node:child_process';
import { copyFileSync, cpSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { DrawAnswer, HostEvent, SaveAnswer, SaveRequest } from '../../../src/page/protocol.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { BIN, endAll, forehear, PATCHES, scratch } from '../run.ts';

interface Running {
  readonly url: string;
  readonly stderr: () => string;
  /** Resolves with the exit status. */
  readonly stop: () => Promise<number | null>;
}

const children: ChildProcess[] = [];
afterEach(() => endAll(children));

function listen(cwd: string, args: readonly string[], input?: string): Promise<Running> {
  const child = spawn(process.execPath, [BIN, 'listen', ...args], { cwd });
  children.push(child);
  child.stdin.end(input ?? '');
  let stderr = '';
  child.stderr.on('data', (piece) => {
    stderr += piece;
  });
  const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
  return new Promise((resolve, reject) => {
    let stdout = '';
    child.stdout.on('data', (piece) => {
      stdout += piece;
      if (!stdout.endsWith('\n')) return;
      const url = args.includes('--json') ? JSON.parse(stdout).url : stdout.trim();
      resolve({
        url,
        stderr: () => stderr,
        stop: () => {
          child.kill('SIGINT');
          return ended;
        },
      });
    });
    void ended.then((status) => reject(new Error(`ended with ${status}: ${stderr}`)));
  });
}

/** Reads the stream of events. */
async function* eventsOf(url: string): AsyncGenerator<HostEvent> {
  const { body } = await fetch(`${url}events`);
  let text = '';
  for await (const piece of (body as ReadableStream<Uint8Array>).pipeThrough(
    new TextDecoderStream(),
  )) {
    text += piece;
    const blocks = text.split('\n\n');
    text = blocks.pop() as string;
    for (const block of blocks)
      if (block.startsWith('data: ')) yield JSON.parse(block.slice(6)) as HostEvent;
  }
}

/** The next event that is as wanted. */
async function next<T extends HostEvent['type']>(
  events: AsyncGenerator<HostEvent>,
  type: T,
  wanted: (event: Extract<HostEvent, { type: T }>) => boolean = () => true,
): Promise<Extract<HostEvent, { type: T }>> {
  for (;;) {
    const { value, done } = await events.next();
    if (done) throw new Error(`the stream ended before ${type}`);
    if (value.type === type && wanted(value as Extract<HostEvent, { type: T }>))
      return value as Extract<HostEvent, { type: T }>;
  }
}

async function posted(address: string, request: unknown): Promise<unknown> {
  const answer = await fetch(address, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: new URL(address).origin },
    body: JSON.stringify(request),
  });
  return answer.json();
}

async function save(url: string, request: SaveRequest): Promise<SaveAnswer> {
  return (await posted(`${url}save`, request)) as SaveAnswer;
}

async function draw(url: string, files: PatchTexts): Promise<DrawAnswer> {
  return (await posted(`${url}draw`, files)) as DrawAnswer;
}

type FilesEvent = Extract<HostEvent, { type: 'files' }>;

function isTitled(title: string): (event: FilesEvent) => boolean {
  return ({ files }) => (files.texts['kit.yaml'] ?? '').includes(`title: ${title}\n`);
}

/** A folder with the two-bar kit, its parts and the racks. */
function kitFolder(): string {
  const cwd = scratch();
  copyFileSync(join(PATCHES, 'two-bar-kit.yaml'), join(cwd, 'kit.yaml'));
  for (const folder of ['parts', 'racks'])
    cpSync(join(PATCHES, folder), join(cwd, folder), { recursive: true });
  return cwd;
}

/** Mixers that feed seven others each, which takes long to lay out. */
function tangle(count: number): string {
  const mixers = Array.from({ length: count }, (_, mixer) => mixer);
  const feeds = [1, 2, 3, 4, 5, 6, 7];
  return [
    'modules:',
    '  out: { kind: output }',
    ...mixers.map((mixer) => `  m${mixer}: { kind: mixer }`),
    ...mixers.map((mixer) => `  s${mixer}: { kind: multiple, jacks: 8 }`),
    'cables:',
    ...mixers.map((mixer) => `  - m${mixer}.out -> s${mixer}.in`),
    ...mixers.flatMap((mixer) =>
      feeds.map(
        (feed) => `  - s${mixer}.out-${feed} -> m${(mixer + feed * feed) % count}.in-${feed}`,
      ),
    ),
    '',
  ].join('\n');
}

describe('forehear listen', () => {
  it('prints its address and nothing else on standard output, and ends well with Ctrl-C', async () => {
    const cwd = kitFolder();
    const { url, stop, stderr } = await listen(cwd, ['kit.yaml']);
    expect(url).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/[\w-]{22}\/$/);
    const page = await fetch(url);
    expect(page.status).toBe(200);
    const html = await page.text();
    expect(html).toContain('<h1 data-part="title">Two-bar kit</h1>');
    expect(html).toContain('id="host">{"events":"events","save":"save","draw":"draw"}<');
    expect(await stop()).toBe(0);
    expect(stderr()).toBe(
      'Open this address on this machine. Start with the volume low. Ctrl-C ends it.\n',
    );
  });

  it('ends at once with Ctrl-C, whatever is being drawn', async () => {
    const cwd = scratch();
    writeFileSync(join(cwd, 'x.yaml'), tangle(30));
    const { url, stop } = await listen(cwd, ['x.yaml', '--quiet']);
    const { files } = await next(eventsOf(url), 'files');
    const drawn = draw(url, files).then(
      () => 'drawn',
      () => 'none',
    );
    // Requests are taken in their order: once this one is answered, the drawing has begun.
    await (await fetch(url)).text();
    expect(await stop()).toBe(0);
    // The layout takes more than 10 s: had it been waited for, it would be here.
    expect(await drawn).toBe('none');
  });

  it('tells pages that it ends', async () => {
    const { url, stop } = await listen(kitFolder(), ['kit.yaml', '--quiet']);
    const events = eventsOf(url);
    await next(events, 'files');
    const ended = next(events, 'end');
    expect(await stop()).toBe(0);
    await ended;
  });

  it('gives the texts of all files, and draws their diagram and those of others', async () => {
    const cwd = kitFolder();
    const { url, stderr } = await listen(cwd, [
      'kit.yaml',
      '--json',
      ...['--set', 'drums.tempo=100bpm', '--rack', 'racks/teaching-cabinet.yaml'],
    ]);
    const events = eventsOf(url);
    const { files } = await next(events, 'files');
    expect(files.main).toBe('kit.yaml');
    expect(files.set).toEqual(['drums.tempo=100bpm']);
    expect(Object.keys(files.texts).toSorted()).toEqual([
      'kit.yaml',
      'parts/hats.yaml',
      'parts/kick.yaml',
      'parts/snare.yaml',
      'racks/teaching-cabinet.yaml',
    ]);
    for (const [name, text] of Object.entries(files.texts))
      expect(text).toBe(readFileSync(join(cwd, name), 'utf8'));
    const own = await draw(url, files);
    expect(own).toMatchObject({
      type: 'drawn',
      markup: expect.stringContaining('data-jack="kick.gate.in"'),
    });
    const text = files.texts['kit.yaml'] as string;
    const other = text.replace(/^ +- hats\.both\.out .*\n/m, '');
    expect(other).not.toBe(text);
    const drawn = await draw(url, { ...files, texts: { ...files.texts, 'kit.yaml': other } });
    expect(drawn.type === 'drawn' && drawn.markup).not.toContain('data-jack="mix.in-3"');
    expect((await draw(url, { ...files, texts: { 'kit.yaml': '[' } })).type).toBe('refused');
    // Whoever opens the page now finds it there.
    const html = await (await fetch(url)).text();
    expect(html).toContain('data-jack="kick.gate.in"');
    expect(html).toContain('<b>kick.gate</b>.in');
    expect(stderr()).toBe('');
  });

  it('follows the patch and its parts on the disk, through faults and absence', async () => {
    const cwd = kitFolder();
    const main = join(cwd, 'kit.yaml');
    const text = readFileSync(main, 'utf8');
    const { url } = await listen(cwd, ['kit.yaml']);
    const events = eventsOf(url);
    await next(events, 'files');

    // As editors save: another file, renamed over the old one.
    writeFileSync(join(cwd, 'kit.yaml~'), text.replace('Two-bar kit', 'Renamed'));
    renameSync(join(cwd, 'kit.yaml~'), main);
    await next(events, 'files', isTitled('Renamed'));
    expect(await (await fetch(url)).text()).toContain('<h1 data-part="title">Renamed</h1>');

    const part = join(cwd, 'parts/kick.yaml');
    writeFileSync(part, `${readFileSync(part, 'utf8')}# more\n`);
    await next(events, 'files', ({ files }) =>
      (files.texts['parts/kick.yaml'] ?? '').endsWith('# more\n'),
    );

    // A fault: the texts as they are, and nothing drawn of them.
    writeFileSync(main, 'modules: [');
    await next(events, 'files', ({ files }) => files.texts['kit.yaml'] === 'modules: [');
    expect(await (await fetch(url)).text()).toContain('<h1 data-part="title"></h1>');

    rmSync(main);
    expect((await next(events, 'unreadable')).message).toContain('there is no such file');
    writeFileSync(main, text);
    await next(events, 'files', isTitled('Two-bar kit'));
  });

  it('notices a part that is written later', async () => {
    const cwd = kitFolder();
    const part = join(cwd, 'parts/kick.yaml');
    const text = readFileSync(part, 'utf8');
    rmSync(part);
    const { url } = await listen(cwd, ['kit.yaml']);
    const events = eventsOf(url);
    const { files } = await next(events, 'files');
    expect(files.texts['parts/kick.yaml']).toBeUndefined();
    writeFileSync(part, text);
    await next(events, 'files', (event) => event.files.texts['parts/kick.yaml'] === text);
  });

  it('saves, comments and all, and tells what it has saved', async () => {
    const cwd = kitFolder();
    const main = join(cwd, 'kit.yaml');
    const text = readFileSync(main, 'utf8');
    const { url } = await listen(cwd, ['kit.yaml']);
    const events = eventsOf(url);
    await next(events, 'files');
    const changed = `# my own words\r\n${text}`;
    const request = { texts: { 'kit.yaml': changed }, before: { 'kit.yaml': text } };
    const answer = await save(url, request);
    expect(answer).toMatchObject({ type: 'saved', files: ['kit.yaml'] });
    expect(readFileSync(main, 'utf8')).toBe(changed);
    // Whoever asks now hears of nothing older, though the disk is looked at only now and then.
    const { files, edition } = await next(eventsOf(url), 'files');
    expect(files.texts['kit.yaml']).toBe(changed);
    expect(edition).toBeGreaterThanOrEqual(answer.type === 'saved' ? answer.edition : Infinity);
    await next(events, 'files', ({ files }) => files.texts['kit.yaml'] === changed);
    expect(await save(url, request)).toMatchObject({ type: 'conflict', file: 'kit.yaml' });
    const copy = { texts: { 'kit.yaml': text }, before: {}, as: 'copy.yaml' };
    expect(await save(url, copy)).toMatchObject({ type: 'saved', files: ['copy.yaml'] });
    expect(readFileSync(join(cwd, 'copy.yaml'), 'utf8')).toBe(text);
  });

  it('opens a patch with faults, its texts in the page', async () => {
    const cwd = scratch();
    writeFileSync(join(cwd, 'x.yaml'), 'modules: { a: { kind: nois } } # </script><script>hit=1');
    const { url } = await listen(cwd, ['x.yaml']);
    const html = await (await fetch(url)).text();
    expect(html).toContain('<div data-island="problems"></div>');
    expect(html).toContain('kind: nois');
    expect(html).not.toContain('<script>hit');
  });

  it('reads standard input, and saves it as a new file', async () => {
    const cwd = scratch();
    const text = readFileSync(join(PATCHES, 'closed-hat.yaml'), 'utf8');
    const { url } = await listen(cwd, ['-'], text);
    expect((await next(eventsOf(url), 'files')).files).toMatchObject({
      main: '-',
      texts: { '-': text },
    });
    const request = { texts: { '-': text }, before: { '-': text } };
    expect((await save(url, request)).type).toBe('refused');
    expect((await save(url, { ...request, as: 'hat.yaml' })).type).toBe('saved');
    expect(readFileSync(join(cwd, 'hat.yaml'), 'utf8')).toBe(text);
  });

  it('says what is wrong with what was asked', async () => {
    const cwd = kitFolder();
    expect(forehear(cwd, ['listen', 'none.yaml'])).toMatchObject({
      status: 2,
      stderr: 'none.yaml: there is no such file. Check the name and the folder.\n',
    });
    expect(forehear(cwd, ['listen', 'kit.yaml', '--port', '80']).status).toBe(2);
    const { url } = await listen(cwd, ['kit.yaml']);
    const { port } = new URL(url);
    expect(forehear(cwd, ['listen', 'kit.yaml', '--port', port])).toMatchObject({
      status: 2,
      stderr: `--port ${port}: another program has this port. Choose another, or leave --port out.\n`,
    });
  });
});
