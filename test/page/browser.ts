/**
 * The page in a real browser, watched: what leaves for the loudspeaker is recorded sample by sample,
 * and so is every source that starts and every sound that the engine gives.
 */

import { type ChildProcess, spawn } from 'node:child_process';
import { copyFileSync, cpSync, existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { type Browser, type BrowserContextOptions, chromium, type Page } from 'playwright-core';
import { afterAll, afterEach } from 'vitest';
import { BIN, forehear, PATCHES, scratch } from '../cli/run.ts';

const BROWSER = process.env.CHROMIUM ?? '/usr/bin/chromium';

export function launched(): Promise<Browser> {
  if (!existsSync(BROWSER))
    throw new Error(
      `${BROWSER} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
    );
  return chromium.launch({ executablePath: BROWSER, args: ['--no-sandbox'] });
}

/**
 * What the tests of a file begin in a browser ends after each of them, and the browser after the last.
 * @returns a list for what else is to end.
 */
export function ending(browser: () => Browser | undefined): (() => void)[] {
  const ends: (() => void)[] = [];
  afterEach(async () => {
    await Promise.all((browser()?.contexts() ?? []).map((context) => context.close()));
    for (const end of ends.splice(0)) end();
  });
  afterAll(() => browser()?.close());
  return ends;
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

export interface Listening {
  readonly url: string;
  readonly process: ChildProcess;
}

/** Starts `forehear listen`. */
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
 * @param options `bypassCSP` lets a recorder in, which the page's policy would not.
 * @param ready what is there once it can be used.
 */
export async function visit(
  browser: Browser,
  url: string,
  options: BrowserContextOptions = {},
  ready = '.strip .play:enabled',
): Promise<Visit> {
  const context = await browser.newContext({ acceptDownloads: true, ...options });
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

/**
 * Waits until an expression holds in the page. Playwright's own `waitForFunction` makes code of a text
 * there, which the page's policy does not allow.
 */
export async function until(page: Page, expression: string): Promise<void> {
  const end = performance.now() + 30_000;
  while (!(await inPage<unknown>(page, expression))) {
    if (performance.now() > end) throw new Error(`not within 30 s: ${expression}`);
    await page.waitForTimeout(10);
  }
}

/** Waits until the engine has given the whole loop for the newest request. */
export async function settled(page: Page): Promise<void> {
  const end = performance.now() + 60_000;
  let before = '';
  for (let same = 0; same < 3; ) {
    await page.waitForTimeout(100);
    const now = await inPage<string>(
      page,
      "[watch.asked, watch.wholeFor, document.querySelector('.strip .play')?.disabled].join()",
    );
    const [asked, whole] = now.split(',');
    same = now === before && asked === whole ? same + 1 : 0;
    if (same === 0 && performance.now() > end)
      throw new Error(`not settled within 60 s: request ${asked} is asked, ${whole} is whole`);
    before = now;
  }
}

/** Runs before anything of the page does. */
const WATCH = `
const watch = { starts: [], loops: [], blocks: [], asked: 0, wholeFor: 0, sounds: [], shifts: [] };
globalThis.watch = watch;
// Requests that a whole sound answers. One that brings none does not count: what was asked before it may
// be on its way still.
const asks = [];
const takeBack = (id) => {
  const at = asks.indexOf(id);
  if (at >= 0) asks.splice(at, 1);
  watch.asked = asks.at(-1) ?? 0;
};

// What no sound of the loop answers.
const UNHEARD = ['clip', 'along', 'moves', 'figures', 'spectra', 'stroke'];
const PlainWorker = Worker;
globalThis.Worker = class extends PlainWorker {
  constructor(...options) {
    super(...options);
    this.addEventListener('message', ({ data }) => {
      const { type, state } = data;
      if (type === 'refused' || type === 'failed' || (type === 'state' && state.view === undefined)) takeBack(data.id);
      // The last that a request is answered with.
      if (data.type === 'findings') watch.isChecked = true;
      if (data.type !== 'sound') return;
      const { sound, id } = data;
      if (watch.sounds.at(-1)?.id !== id)
        watch.sounds.push({ id, loop: new Float32Array(sound.frames), frames: sound.frames });
      watch.sounds.at(-1).loop.set(sound.channels[0], sound.from);
      if (sound.isWhole) watch.wholeFor = id;
    });
  }
  postMessage(request) {
    if (!UNHEARD.includes(request.type)) asks.push((watch.asked = request.id));
    super.postMessage(request);
  }
};

const plainStart = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, offset) {
  // What is written down takes time, which the player has not got to spare.
  plainStart.call(this, when, offset);
  const now = this.context.currentTime;
  const at = performance.now();
  const loop = this.buffer.getChannelData(0).slice();
  watch.loops.push(this.loop);
  watch.starts.push({ when, offset, loop, now, at, rate: this.context.sampleRate });
};

const RECORDER = \`registerProcessor('recorder', class extends AudioWorkletProcessor {
  process([input]) {
    if (input[0]) this.port.postMessage([currentFrame, input[0].slice()]);
    return true;
  }
});\`;
const plainConnect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    const address = URL.createObjectURL(new Blob([RECORDER], { type: 'text/javascript' }));
    this.context.audioWorklet.addModule(address).then(() => {
      const recorder = new AudioWorkletNode(this.context, 'recorder', { numberOfOutputs: 0 });
      recorder.port.onmessage = ({ data }) => watch.blocks.push(data);
      plainConnect.call(this, recorder);
      watch.isRecording = true;
    }, () => {});
  }
  return plainConnect.call(this, to, ...more);
};
new MutationObserver((_, observer) => {
  if (document.querySelector('.strip') !== null && !watch.isShown) {
    watch.isShown = true;
    // By the second frame the first is on the screen.
    requestAnimationFrame(() => requestAnimationFrame(() => { watch.shown = performance.now(); }));
  }
  if (document.querySelector('.strip .play:enabled') === null) return;
  watch.ready = performance.now();
  observer.disconnect();
}).observe(document, { subtree: true, childList: true, attributes: true });
new PerformanceObserver((list) => {
  for (const { value, startTime } of list.getEntries()) watch.shifts.push({ value, at: startTime });
}).observe({ type: 'layout-shift', buffered: true });
addEventListener('keydown', () => { watch.pressed = performance.now(); }, true);
`;
