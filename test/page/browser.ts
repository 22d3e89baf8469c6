/**
 * The page in a real browser, observed: the output to the loudspeaker is recorded sample by sample, and
 * so is every source that starts and every sound that the engine sends.
 */

import { type ChildProcess, spawn } from 'node:child_process';
import { copyFileSync, cpSync, existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import {
  type Browser,
  type BrowserContext,
  type BrowserContextOptions,
  chromium,
  type Page,
} from 'playwright-core';
import { type afterAll, afterEach, expect } from 'vitest';
import { type ServedPatch, servePatch } from '../../src/cli/served-patch.ts';
import { readBundles } from '../../src/page/host/bundles.ts';
import { DiagramThread } from '../../src/page/host/diagram-thread.ts';
import { BIN, forehear, PATCHES, scratch } from '../cli/run.ts';
import { WATCH } from './browser/watch.ts';

const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium';
/**
 * The same engine, of the same package source and version, without what a window, tabs and extensions need:
 * a page takes 0.8 s of processor time in it, 1.9 s in Chromium.
 */
const SHELL = '/usr/bin/chromium-headless-shell';

/** ms after which what a hand did has been requested, and what follows from it too. */
const QUIET = 300;

const browsers = new Map<string, Promise<Browser>>();

/**
 * The browser that all test files of a worker share; it ends with the worker. Each visit has a context of its
 * own, which shares nothing with others.
 * @param isWhole Chromium as a person has it, which is otherwise its shell, if that is installed.
 */
export async function launched(isWhole = false): Promise<Browser> {
  const path =
    isWhole || process.env.CHROMIUM !== undefined || !existsSync(SHELL) ? CHROMIUM : SHELL;
  if (!existsSync(path))
    throw new Error(
      `${path} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
    );
  const known = await browsers.get(path);
  if (known?.isConnected()) return known;
  const launch = chromium.launch({ executablePath: path, args: ['--no-sandbox'] });
  browsers.set(path, launch);
  return launch;
}

export interface Browsing {
  /** As {@link visit}. */
  readonly visit: (url: string, options?: BrowserContextOptions, ready?: string) => Promise<Visit>;
  /** A page that nothing watches. */
  readonly plainPage: (options?: BrowserContextOptions) => Promise<Page>;
  /** Serves the example of a folder as {@link serving} does. */
  readonly serve: (folder: string, name: string) => Promise<ServedPatch>;
  /** What else is to end with them. */
  readonly ends: (() => unknown)[];
}

/**
 * Pages for the tests of a file: what is opened and served ends after each test.
 * @param closing `afterAll` where the tests go on with what was opened before them.
 * @param isWhole as {@link launched} has it.
 */
export function browsing(
  closing: typeof afterAll | typeof afterEach = afterEach,
  isWhole = false,
): Browsing {
  const ends: (() => unknown)[] = [];
  const opened = async (options?: BrowserContextOptions): Promise<BrowserContext> => {
    const browser = await launched(isWhole);
    const context = await browser.newContext({ acceptDownloads: true, ...options });
    ends.push(() => context.close());
    return context;
  };
  closing(async () => {
    // What was opened last goes first: a page before its host.
    for (const end of ends.splice(0).reverse()) await end();
  });
  return {
    visit: async (url, options, ready) => visitIn(await opened(options), url, ready),
    plainPage: async (options) => (await opened(options)).newPage(),
    serve: async (folder, name) => {
      const served = await serving(folder, name);
      ends.push(() => served.close());
      return served;
    },
    ends,
  };
}

/** A folder with an example and the parts that it may need. */
export function folderWith(name: string): string {
  const folder = scratch();
  for (const one of ['parts', 'racks'])
    cpSync(join(PATCHES, one), join(folder, one), { recursive: true });
  mkdirSync(folder, { recursive: true });
  copyFileSync(join(PATCHES, `${name}.yaml`), join(folder, `${name}.yaml`));
  return folder;
}

/** Writes a hand-out. @returns its address. */
export function handOut(folder: string, name: string, html = `${name}.html`): string {
  const { status, stderr } = forehear(folder, ['sheet', `${name}.yaml`, '-o', html]);
  if (status !== 0) throw new Error(stderr);
  return `file://${join(folder, html)}`;
}

const handOuts = new Map<string, string>();

/** The hand-out of an example as it is, which is written once and only read. @returns its address. */
export function handOutOf(name: string): string {
  const url = handOuts.get(name) ?? handOut(folderWith(name), name);
  handOuts.set(name, url);
  return url;
}

const BUNDLES = readBundles(new URL('../../dist/page/', import.meta.url));
/** For all that is served here: a diagram is drawn once. */
const diagrams = new DiagramThread(new URL('../../dist/bin/diagram-worker.js', import.meta.url));

/** Does what `forehear listen` does, in this process. */
export async function serving(folder: string, name: string): Promise<ServedPatch> {
  const served = await servePatch(join(folder, `${name}.yaml`), BUNDLES, (figures) =>
    diagrams.draw(figures),
  );
  served.prepare();
  return served;
}

export interface Listening {
  readonly url: string;
  readonly process: ChildProcess;
}

/** Starts `forehear listen` as a command of its own. */
export function listening(folder: string, name: string): Promise<Listening> {
  const child = spawn(process.execPath, [BIN, 'listen', `${name}.yaml`, '--json'], { cwd: folder });
  return new Promise((resolve, reject) => {
    let words = '';
    child.stdout.on('data', (data) => {
      words += data;
      if (words.includes('\n'))
        resolve({ url: (JSON.parse(words) as { url: string }).url, process: child });
    });
    child.on('error', reject);
    child.on('exit', () => reject(new Error('listen has ended')));
  });
}

export interface Visit {
  readonly page: Page;
  /** What the page complained of. */
  readonly complaints: string[];
  /** What it asked for beyond itself. */
  readonly requests: string[];
}

/**
 * Opens a page.
 * @param options `bypassCSP` lets scripts of the tests in, which the page's policy would not.
 * @param ready what is there once it can be used.
 */
export async function visit(
  browser: Browser,
  url: string,
  options: BrowserContextOptions = {},
  ready?: string,
): Promise<Visit> {
  return visitIn(await browser.newContext({ acceptDownloads: true, ...options }), url, ready);
}

async function visitIn(
  context: BrowserContext,
  url: string,
  ready = '.strip .play:enabled',
): Promise<Visit> {
  const page = await context.newPage();
  const complaints: string[] = [];
  const requests: string[] = [];
  page.on('console', (message) => complaints.push(message.text()));
  page.on('pageerror', ({ message }) => complaints.push(message));
  page.on('request', (request) => {
    if (!/^(data|blob):/.test(request.url()) && request.url() !== url) requests.push(request.url());
  });
  await page.addInitScript(WATCH);
  await page.goto(url);
  await page.locator(ready).waitFor();
  return { page, complaints, requests };
}

/** Runs an expression in the page, whose globals the compiler is not told of. */
export function inPage<T>(page: Page, expression: string): Promise<T> {
  return page.evaluate(expression) as Promise<T>;
}

/** Presses a key a few times where the focus is, at once: a busy machine would make slow keys of quick ones. */
export async function pressed(page: Page, key: string, times: number): Promise<void> {
  await inPage(
    page,
    `{
      const press = { key: '${key}', bubbles: true, cancelable: true };
      for (let time = 0; time < ${times}; time++)
        for (const type of ['keydown', 'keyup'])
          document.activeElement.dispatchEvent(new KeyboardEvent(type, press));
    }`,
  );
}

/**
 * Waits until an expression holds in the page. Playwright's own `waitForFunction` makes code of a text
 * there, which the page's policy does not allow. The page itself looks: to be asked takes it longer.
 */
export async function until(page: Page, expression: string): Promise<void> {
  const isSo = await inPage<boolean>(
    page,
    `new Promise((done, fail) => {
      const end = performance.now() + 30_000;
      const look = () => {
        try {
          if (${expression}) done(true);
          else if (performance.now() > end) done(false);
          else setTimeout(look, 10);
        } catch (error) { fail(error); }
      };
      look();
    })`,
  );
  if (!isSo) throw new Error(`not within 30 s: ${expression}`);
}

/** Stops what plays, and looks that the browser's audio rests some time after. */
export async function rests(page: Page): Promise<void> {
  await page.clock.install();
  await page.locator('.strip .play').click();
  await expect
    .poll(async () => {
      await page.clock.fastForward(10_000);
      return inPage(page, 'watch.context.state');
    })
    .toBe('suspended');
}

/** Waits until the engine has given the whole loop for the newest request, and no other follows. */
export async function settled(page: Page): Promise<void> {
  await inPage(
    page,
    `new Promise((done, fail) => {
      const end = performance.now() + 60_000;
      let before = '', since = 0;
      const look = () => {
        const { asked, wholeFor } = watch;
        const now = [asked, wholeFor, document.querySelector('.strip .play')?.disabled].join();
        const time = performance.now();
        if (now !== before || asked !== wholeFor) since = time;
        before = now;
        if (time - since > ${QUIET}) done();
        else if (time > end) fail(new Error('not settled within 60 s: request ' + asked + ' is asked, ' + wholeFor + ' is whole'));
        // A change is drawn with the next frame, and may ask then.
        else requestAnimationFrame(() => setTimeout(look, 10));
      };
      look();
    })`,
  );
}
