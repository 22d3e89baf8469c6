/** In Chromium: how soon a hand-out is ready, and how many frames it draws while it plays. */

import { execFileSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

export const title = 'In Chromium: a hand-out ready to play, and frames while it plays';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const BROWSER = process.env.CHROMIUM ?? '/usr/bin/chromium';
const VISITS = 5;
const FRAMES = 240;

export async function run() {
  if (!existsSync(BROWSER))
    throw new Error(
      `${BROWSER} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
    );
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  const browser = await chromium.launch({ executablePath: BROWSER, args: ['--no-sandbox'] });
  try {
    cpSync(PATCHES, folder, { recursive: true });
    execFileSync(process.execPath, [BIN, 'sheet', 'two-bar-kit.yaml', '-o', 'kit.html'], {
      cwd: folder,
    });
    const address = pathToFileURL(join(folder, 'kit.html')).href;
    const ready = [];
    for (let visit = 0; visit < VISITS; visit++) {
      const page = await visited(browser, address);
      ready.push(await page.evaluate('ready'));
      await page.close();
    }
    const page = await visited(browser, address);
    await page.getByRole('button', { name: 'Play' }).click();
    await page.getByRole('button', { name: 'Stop' }).waitFor();
    await page.locator('#score').scrollIntoViewIfNeeded();
    const gap = await page.evaluate(GAPS);
    return [
      { what: 'ready to play, best of 5', value: Math.min(...ready), unit: 'ms', limit: 1000 },
      {
        what: 'frames a second while it plays, by the median of 240',
        value: 1000 / gap,
        limit: 58,
        atLeast: true,
      },
    ];
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}

async function visited(browser, address) {
  const page = await browser.newPage();
  await page.addInitScript(WATCH);
  await page.goto(address);
  await page.locator('.strip .play:enabled').waitFor({ timeout: 60_000 });
  return page;
}

/** Runs before anything of the page does: notes when it can play. */
const WATCH = `
new MutationObserver((_, observer) => {
  if (document.querySelector('.strip .play:enabled') === null) return;
  globalThis.ready = performance.now();
  observer.disconnect();
}).observe(document, { subtree: true, childList: true, attributes: true });
`;

/** The median time between two frames, ms. */
const GAPS = `new Promise((resolve) => {
  const times = [];
  const tick = (time) => {
    times.push(time);
    if (times.length <= ${FRAMES}) requestAnimationFrame(tick);
    else resolve(times.slice(1).map((one, index) => one - times[index]).sort((a, b) => a - b)[${FRAMES / 2}]);
  };
  requestAnimationFrame(tick);
})`;
