/** In Chromium: from a key that moves a setting to the first changed sample, in a page that plays. */

import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

export const title = 'In Chromium: a setting moved to changed sound, 200 moves';

const BIN = fileURLToPath(new URL('../../dist/bin/forehear.cjs', import.meta.url));
const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));
const BROWSER = process.env.CHROMIUM ?? '/usr/bin/chromium';
/** Fewer with MOVES=20, for a look. */
const MOVES = Number(process.env.MOVES ?? 200);
const KITS = { 'two-bar-kit': 30, 'kit-of-eight': 45 };

export async function run() {
  if (!existsSync(BROWSER))
    throw new Error(
      `${BROWSER} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
    );
  const browser = await chromium.launch({ executablePath: BROWSER, args: ['--no-sandbox'] });
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  try {
    cpSync(PATCHES, folder, { recursive: true });
    const rows = [];
    for (const [name, limit] of Object.entries(KITS)) {
      const { page, host } = await pageOf(browser, folder, name);
      const times = await timesOf(page);
      host.kill('SIGINT');
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
