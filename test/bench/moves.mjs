/**
 * In Chromium: from a key that moves a setting to the first changed sample, in a page that plays; and
 * what that time is spent on. The page is the one that ships: its worker, its WebAssembly and its player are
 * watched from outside.
 */

import { spawn } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { browserPath } from './browser.mjs';

export const title = 'In Chromium: a setting moved to changed sound, 200 moves';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
/** Fewer with MOVES=20, for a look. */
const MOVES = Number(process.env.MOVES ?? 200);
const KITS = { 'two-bar-kit': 30, 'kit-of-eight': 45 };

/** The way of a move, piece by piece: what it is, from which time to which. */
const WAY = [
  ['the page, from the key to the worker', 'pressed', 'asked'],
  ['the message to the worker', 'asked', 'received'],
  ['text edited, read and planned', 'received', 'planned'],
  ['circuits made', 'planned', 'made'],
  ['played up to where it is heard', 'made', 'posted'],
  ['the message to the page', 'posted', 'answered'],
  ['put together and handed to the player', 'answered', 'started'],
  ['ahead of the sound', 'started', 'heard'],
];

export async function run() {
  const executablePath = browserPath();
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    cpSync(PATCHES, folder, { recursive: true });
    const rows = [];
    for (const [name, limit] of Object.entries(KITS)) {
      const { page, host } = await pageOf(browser, folder, name);
      const moves = await movesOf(page);
      host.kill('SIGINT');
      const times = moves.map(({ pressed, heard }) => heard - pressed);
      rows.push(
        { what: `${name}: median`, value: shareOf(times, 0.5), unit: 'ms', limit },
        {
          what: `${name}: 95th percentile`,
          value: shareOf(times, 0.95),
          unit: 'ms',
          limit: 2 * limit,
        },
        ...WAY.map(([what, from, to]) => ({
          what: `${name}: ${what}, median`,
          value: shareOf(
            moves.map((move) => move[to] - move[from]),
            0.5,
          ),
          unit: 'ms',
        })),
      );
    }
    return rows;
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}

/** The page as `forehear listen` serves it. */
async function pageOf(browser, folder, name) {
  const host = spawn(process.execPath, [BIN, 'listen', `${name}.yaml`, '--json'], { cwd: folder });
  const url = await new Promise((resolve, reject) => {
    let words = '';
    host.stdout.on('data', (data) => {
      words += data;
      if (words.includes('\n')) resolve(JSON.parse(words).url);
    });
    host.on('exit', () => reject(new Error('listen has ended')));
  });
  const page = await browser.newPage();
  await page.addInitScript(WATCH);
  await page.goto(url);
  await page.locator('.strip .play:enabled').waitFor({ timeout: 60_000 });
  return { page, host };
}

/** What each move took, its times in ms of one clock. */
async function movesOf(page) {
  await page.getByRole('button', { name: 'Play' }).click();
  await until(page, 'watch.starts > 0');
  await page.getByText('Open all').click();
  const scale = page.getByLabel(/cutoff, scale$/).first();
  await scale.focus();
  const moves = [];
  for (let move = 0; move < MOVES; move++) {
    // Waits until all that the last move causes has been said.
    await page.waitForTimeout(300);
    const before = await page.evaluate('watch.starts');
    await page.keyboard.press(move % 2 === 0 ? 'ArrowRight' : 'ArrowLeft');
    await until(page, `watch.starts > ${before}`);
    moves.push(await page.evaluate('watch.last'));
  }
  return moves;
}

function shareOf(list, share) {
  return [...list].sort((a, b) => a - b)[Math.floor(share * list.length)];
}

/** Waits until an expression holds in the page, whose policy lets no text be made into code. */
async function until(page, expression) {
  while (!(await page.evaluate(expression))) await page.waitForTimeout(5);
}

/**
 * Runs in the worker before its own code: notes when each request reaches each step on the way to its sound.
 */
const IN_WORKER = `
const clock = () => performance.timeOrigin + performance.now();
const times = { received: 0, planned: 0, made: 0 };
addEventListener('message', () => {
  times.received = clock();
  times.planned = 0;
});
const PlainInstance = WebAssembly.Instance;
WebAssembly.Instance = function (module, imports) {
  const { exports } = new PlainInstance(module, imports);
  const isFirst = times.planned === 0;
  if (!isFirst) return { exports };
  times.planned = clock();
  times.made = 0;
  const next = (scheduler) => {
    if (times.made === 0) times.made = clock();
    return exports.next(scheduler);
  };
  return { exports: { ...exports, next } };
};
const plainPost = self.postMessage.bind(self);
self.postMessage = (answer, options) =>
  plainPost(answer.type === 'sound' ? { ...answer, watched: { ...times, posted: clock() } } : answer, options);
`;

/** Runs before anything of the page does: notes the keys, and when what they change is heard. */
const WATCH = `
const clock = () => performance.timeOrigin + performance.now();
const watch = { starts: 0, pressed: 0, asked: 0, sound: undefined, last: undefined };
globalThis.watch = watch;
const PlainBlob = Blob;
globalThis.Blob = class extends PlainBlob {
  constructor(parts, options) {
    super(options?.type === 'text/javascript' ? [${JSON.stringify(IN_WORKER)}, ...parts] : parts, options);
  }
};
const PlainWorker = Worker;
globalThis.Worker = class extends PlainWorker {
  constructor(...given) {
    super(...given);
    this.addEventListener('message', ({ data: { type, watched } }) => {
      if (type === 'sound') watch.sound = { ...watched, answered: clock() };
    });
  }
  postMessage(request, ...others) {
    if (request.type === 'change') watch.asked = clock();
    super.postMessage(request, ...others);
  }
};
const plainStart = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, offset) {
  plainStart.call(this, when, offset);
  const { pressed, asked, sound } = watch;
  const started = clock();
  const heard = started + 1000 * Math.max(0, when - this.context.currentTime);
  watch.last = { pressed, asked, ...sound, started, heard };
  watch.starts += 1;
};
addEventListener('keydown', () => { watch.pressed = clock(); }, true);
`;
