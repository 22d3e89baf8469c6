/** In Chromium: from a key that moves a setting to the first changed sample, in a hand-out that plays. */

import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

export const title = 'In Chromium: a setting moved to changed sound, 200 moves';

const BIN = new URL('../../dist/bin/forehear.cjs', import.meta.url).pathname;
const PATCHES = new URL('../../patches/', import.meta.url).pathname;
const BROWSER = process.env.CHROMIUM ?? '/usr/bin/chromium';
const MOVES = 200;
const KITS = { 'two-bar-kit': 30, 'kit-of-eight': 45 };

export async function run() {
  if (!existsSync(BROWSER))
    throw new Error(
      `${BROWSER} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
    );
  const browser = await chromium.launch({ executablePath: BROWSER, args: ['--no-sandbox'] });
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    const rows = [];
    for (const [name, limit] of Object.entries(KITS)) {
      const times = await timesOf(await handOutOf(browser, folder, name));
      const [median, late] = [0.5, 0.95].map((share) => times[Math.floor(share * times.length)]);
      rows.push(
        { what: `${name}: median`, value: median, unit: 'ms', limit },
        { what: `${name}: 95th percentile`, value: late, unit: 'ms', limit: 2 * limit },
      );
    }
    return rows;
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}

async function handOutOf(browser, folder, name) {
  cpSync(PATCHES, folder, { recursive: true });
  const html = `${name}.html`;
  const { status, stderr } = spawnSync(
    process.execPath,
    [BIN, 'sheet', `${name}.yaml`, '-o', html],
    { cwd: folder, encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(stderr);
  const page = await browser.newPage();
  await page.addInitScript(WATCH);
  await page.goto(`file://${join(folder, html)}`);
  await page.locator('.strip .play:enabled').waitFor({ timeout: 60_000 });
  return page;
}

/** Ascending, ms. */
async function timesOf(page) {
  await page.getByRole('button', { name: 'Play' }).click();
  await until(page, 'watch.starts > 0');
  await page.getByText('Open all').click();
  const scale = page.getByLabel(/cutoff, scale$/).first();
  await scale.focus();
  const times = [];
  for (let move = 0; move < MOVES; move++) {
    // Until what the last move says has been said.
    await page.waitForTimeout(300);
    const before = await page.evaluate('watch.starts');
    await page.keyboard.press(move % 2 === 0 ? 'ArrowRight' : 'ArrowLeft');
    await until(page, `watch.starts > ${before}`);
    times.push(await page.evaluate('watch.heard - watch.pressed'));
  }
  return times.sort((a, b) => a - b);
}

/** Waits until an expression holds in the page, whose policy lets no text be made code in it. */
async function until(page, expression) {
  while (!(await page.evaluate(expression))) await page.waitForTimeout(5);
}

/** Runs before anything of the page does: notes the keys, and when what they change is heard. */
const WATCH = `
const watch = { starts: 0, heard: 0, pressed: 0 };
globalThis.watch = watch;
const plainStart = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, offset) {
  plainStart.call(this, when, offset);
  watch.starts += 1;
  watch.heard = performance.now() + 1000 * Math.max(0, when - this.context.currentTime);
};
addEventListener('keydown', () => { watch.pressed = performance.now(); }, true);
`;
