/**
 * In Chromium: how soon a page is ready, how many frames it draws while it plays and while a setting is
 * moved, how tall the page of a kit is, and how much of it shifts by itself. The page is the hand-out,
 * and for the shifts also the one that `listen` serves, whose diagrams come later.
 */

import { execFileSync, spawn } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { browserPath } from './browser.mjs';

export const title = 'In Chromium: ready, frames, height and what moves by itself';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const VISITS = 5;
const FRAMES = 240;
/** ms: 60 frames a second, and the half that a screen's own clock may be off. */
const FRAME_MS = 1000 / 58;
const SIZE = { width: 1280, height: 800 };
/** Shifts are measured on a desk and on a phone. */
const WIDTHS = [SIZE.width, 390];
/** Kits by how they are called below. */
const KITS = [
  ['two-bar kit', 'two-bar-kit'],
  ['kit of eight', 'kit-of-eight'],
];

export async function run() {
  const executablePath = browserPath();
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  try {
    cpSync(PATCHES, folder, { recursive: true });
    const rows = [];
    for (const [kit, name] of KITS) {
      execFileSync(process.execPath, [BIN, 'sheet', `${name}.yaml`, '-o', 'kit.html'], {
        cwd: folder,
      });
      const address = pathToFileURL(join(folder, 'kit.html')).href;
      for (const row of await figuresOf(browser, address))
        rows.push({ ...row, what: `${kit}: ${row.what}` });
    }
    rows.push(await heightRow(browser, folder));
    for (const [what, name] of [['hat', 'closed-hat'], KITS[1]])
      for (const row of await shiftRows(browser, folder, what, name)) rows.push(row);
    return rows;
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}

async function figuresOf(browser, address) {
  const ready = [];
  for (let visit = 0; visit < VISITS; visit++) {
    const page = await visited(browser, address);
    ready.push(await page.evaluate('ready'));
    await page.close();
  }
  const page = await visited(browser, address);
  await drawn(page);
  await page.getByRole('button', { name: 'Play', exact: true }).click();
  await page.getByRole('button', { name: 'Stop', exact: true }).waitFor();
  const playing = await page.evaluate(GAPS);
  await page.getByRole('button', { name: 'Open all', exact: true }).click();
  const scale = page.locator('.scale input[type=range]').first();
  await scale.scrollIntoViewIfNeeded();
  const { x, y, width, height } = await scale.boundingBox();
  await page.mouse.move(x + width / 2, y + height / 2);
  await page.mouse.down();
  const gaps = page.evaluate(GAPS);
  let isDone = false;
  gaps.finally(() => {
    isDone = true;
  });
  for (let step = 0; !isDone; step++)
    await page.mouse.move(x + width * (0.5 + 0.3 * Math.sin(step / 12)), y + height / 2);
  const dragging = await gaps;
  await page.mouse.up();
  await page.close();
  return [
    { what: 'ready to play, best of 5', value: Math.min(...ready), unit: 'ms', limit: 1000 },
    ...frames('while it plays', playing),
    ...frames('while a setting is dragged', dragging),
  ];
}

function frames(when, sorted) {
  return [
    {
      what: `frames a second ${when}, by the median of ${FRAMES}`,
      value: 1000 / sorted[FRAMES / 2],
      limit: 58,
      atLeast: true,
    },
    {
      what: `time of a frame ${when}, 95th percentile`,
      value: sorted[Math.floor(0.95 * FRAMES)],
      unit: 'ms',
      limit: Number(FRAME_MS.toFixed(1)),
    },
  ];
}

/** The height of the largest example's page. */
async function heightRow(browser, folder) {
  const page = await visited(browser, pathToFileURL(join(folder, 'kit.html')).href);
  await drawn(page);
  const value = await page.evaluate('document.documentElement.scrollHeight');
  await page.close();
  return { what: 'kit of eight: height of the page at 1280', value, unit: 'px', limit: 6000 };
}

/** How much of the page moves by itself. */
async function shiftRows(browser, folder, what, name) {
  const rows = [];
  const look = async (which, address, isServed) => {
    for (const width of WIDTHS) {
      const page = await visited(browser, address, { ...SIZE, width });
      await drawn(page);
      if (isServed) await page.locator('[data-jack]').first().waitFor({ timeout: 60_000 });
      const value = await page.evaluate('shifted()');
      rows.push({
        what: `${what}: layout shift of ${which}, ${width} px wide`,
        value,
        limit: 0.02,
      });
      await page.close();
    }
  };
  execFileSync(process.execPath, [BIN, 'sheet', `${name}.yaml`, '-o', 'shift.html'], {
    cwd: folder,
  });
  await look('the hand-out', pathToFileURL(join(folder, 'shift.html')).href, false);
  const server = spawn(process.execPath, [BIN, 'listen', `${name}.yaml`], {
    cwd: folder,
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    await look('the page of listen', await addressFrom(server), true);
  } finally {
    server.kill('SIGINT');
  }
  return rows;
}

/** The address that `listen` prints. */
function addressFrom(server) {
  return new Promise((resolve, reject) => {
    let told = '';
    const take = (data) => {
      told += data;
      const address = /http:\/\/127\.0\.0\.1:\S+/.exec(told);
      if (address !== null) resolve(address[0]);
    };
    server.stdout.on('data', take);
    server.on('exit', () => reject(new Error(`listen ended: ${told}`)));
  });
}

async function visited(browser, address, viewport = SIZE) {
  const page = await browser.newPage({ viewport });
  await page.addInitScript(WATCH);
  await page.goto(address);
  await page.locator('.strip .play:enabled').waitFor({ timeout: 60_000 });
  return page;
}

/** Waits until the engine has drawn all. */
async function drawn(page) {
  await page.locator('[data-island=sound] .drawing').first().waitFor({ timeout: 60_000 });
  await page.locator('[data-island=score] .timed').first().waitFor({ timeout: 60_000 });
}

/**
 * Runs before anything of the page does: notes when it can play, and what moves by itself. Layout shift
 * is the worst second of a session of shifts, as Web Vitals has it (Layout Instability, W3C; the session
 * of at most 5 s with gaps under 1 s).
 */
const WATCH = `
new MutationObserver((_, observer) => {
  if (document.querySelector('.strip .play:enabled') === null) return;
  globalThis.ready = performance.now();
  observer.disconnect();
}).observe(document, { subtree: true, childList: true, attributes: true });
const shifts = [];
new PerformanceObserver((list) => shifts.push(...list.getEntries())).observe({ type: 'layout-shift', buffered: true });
globalThis.shifted = () => {
  let [worst, sum, first, last] = [0, 0, -Infinity, -Infinity];
  for (const { startTime, value, hadRecentInput } of shifts) {
    if (hadRecentInput) continue;
    if (startTime - last > 1000 || startTime - first > 5000) [sum, first] = [0, startTime];
    last = startTime;
    sum += value;
    worst = Math.max(worst, sum);
  }
  return worst;
};
`;

/** The times between frames, ms, from the shortest to the longest. */
const GAPS = `new Promise((resolve) => {
  const times = [];
  const tick = (time) => {
    times.push(time);
    if (times.length <= ${FRAMES}) requestAnimationFrame(tick);
    else resolve(times.slice(1).map((one, index) => one - times[index]).sort((a, b) => a - b));
  };
  requestAnimationFrame(tick);
})`;
