// The sheet in a real browser: it loads nothing, runs nothing, reads well to assistive technology in
// light, dark, narrow and on paper. Rules: WCAG 2.2 A and AA as axe-core tests them; paper sizes by ISO
// 216 (A4) and ANSI/ASME Y14.1 (Letter).

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BrowserContextOptions, Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { sheetOf } from '../../src/output/sheet/sheet.ts';
import { sheetPage } from '../../src/output/sheet/sheet-page.ts';
import { expectAccessible } from '../accessibility.ts';
import { scratch } from '../cli/run.ts';
import { close } from '../close.ts';
import { browsing } from '../page/browser.ts';
import { example, HOSTILE, hostilePatch } from './sheet-patches.ts';

const LENGTH = { unit: 'bars', value: 1 } as const;

const { plainPage } = browsing();
let folder: string;

beforeAll(async () => {
  folder = scratch();
  const write = (name: string, html: string): void => writeFileSync(join(folder, name), html);
  // It has a part, a follower and a clock, and is small.
  const bass = await sheetOf(example('bass-line', true), { length: LENGTH });
  write('bass.html', await sheetPage(bass, { clip: true }));
  const hostile = await sheetPage(await sheetOf(hostilePatch(), { length: LENGTH }), {
    clip: true,
  });
  write('hostile.html', hostile);
  // Escaping has to hold without the policy that backs it.
  write('bare.html', hostile.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, ''));
});

interface Visit {
  readonly page: Page;
  /** What the page asked for beyond itself, and what it complained of. */
  readonly requests: string[];
  readonly complaints: string[];
}

async function visit(name: string, options: BrowserContextOptions = {}): Promise<Visit> {
  const page = await plainPage(options);
  const requests: string[] = [];
  const complaints: string[] = [];
  page.on('console', (message) => complaints.push(message.text()));
  page.on('pageerror', ({ message }) => complaints.push(message));
  page.on('dialog', (dialog) => {
    complaints.push(dialog.message());
    void dialog.dismiss();
  });
  const url = `file://${join(folder, name)}`;
  page.on('request', (request) => {
    const asked = request.url();
    if (asked !== url && !asked.startsWith('data:')) requests.push(asked);
  });
  await page.goto(url);
  return { page, requests, complaints };
}

/** Runs an expression in the page, whose globals the compiler is not told of. */
function inPage<T>(page: Page, expression: string): Promise<T> {
  return page.evaluate(expression) as Promise<T>;
}

describe('a sheet in Chromium', () => {
  it('asks for nothing, complains of nothing, and plays its clip', async () => {
    const { page, requests, complaints } = await visit('bass.html');
    expect(await page.title()).toBe('Bass line beside a beat: patch sheet');
    const seconds = await inPage<number>(
      page,
      `new Promise((resolve, reject) => {
        const audio = document.querySelector('audio');
        audio.onerror = () => reject(new Error(audio.error.message));
        const look = () => { if (audio.duration > 0) resolve(audio.duration); };
        audio.ondurationchange = look;
        look();
      })`,
    );
    // A bar of four quarters at 104 bpm; the clip is whole samples, so within one of 48 kHz.
    close(seconds, (4 * 60) / 104, {
      abs: 1 / 48_000,
      unit: 's',
      why: 'the clip is whole samples, so within one of 48 kHz',
    });
    const broken = await inPage<number>(
      page,
      '[...document.images].filter((image) => !image.complete || image.naturalWidth === 0).length',
    );
    expect(broken).toBe(0);
    expect(requests).toEqual([]);
    expect(complaints).toEqual([]);
  });

  it.each(['hostile.html', 'bare.html'])('runs nothing of a hostile patch: %s', async (name) => {
    const { page, requests, complaints } = await visit(name);
    await page.waitForLoadState('load');
    // Whatever an image or an inner frame would run has run by the second frame from now.
    await inPage(
      page,
      'new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))',
    );
    expect(await inPage(page, 'typeof hit')).toBe('undefined');
    expect(await inPage(page, 'document.scripts.length')).toBe(0);
    const foreign = `[...document.querySelectorAll('*')].filter((element) =>
      [...element.attributes].some(({ name }) => name.startsWith('on'))).length`;
    expect(await inPage(page, foreign)).toBe(0);
    expect(await page.locator('h1').textContent()).toBe(`Closed hat, first idea${HOSTILE}`);
    expect(requests).toEqual([]);
    expect(complaints).toEqual([]);
  });

  const views: readonly (readonly [string, BrowserContextOptions])[] = [
    ['light and narrow', { colorScheme: 'light', viewport: { width: 360, height: 740 } }],
    ['dark and wide', { colorScheme: 'dark' }],
  ];

  it.each(views)('keeps the accessibility rules: %s', async (_, options) => {
    // The policy of the page would keep the checker out too.
    const { page } = await visit('bass.html', { ...options, bypassCSP: true });
    await expectAccessible(page);
  });

  it('can be used by the keyboard alone', async () => {
    const { page } = await visit('bass.html');
    await page.keyboard.press('Tab');
    expect(await inPage(page, 'document.activeElement.className')).toBe('skip');
    await page.locator('input[type=checkbox]').first().focus();
    await page.keyboard.press('Space');
    expect(await page.locator('input[type=checkbox]').first().isChecked()).toBe(true);
    const unnamed = await page.locator('input:not([aria-label])').count();
    expect(unnamed).toBe(0);
  });

  it('is no wider than a narrow screen', async () => {
    const { page } = await visit('bass.html', { viewport: { width: 320, height: 700 } });
    // WCAG 2.1, 1.4.10: no scrolling in two directions at 320 px.
    expect(await inPage(page, 'document.documentElement.scrollWidth')).toBe(320);
  });

  // Points of 1/72 inch: 210 mm x 297 mm and 8.5 x 11 inches; browsers round to their own pixel.
  it.each([
    ['A4', 595.28, 841.89],
    ['Letter', 612, 792],
  ])('prints on %s in black on white, nothing cut off', async (format, width, height) => {
    const { page } = await visit('bass.html', { colorScheme: 'dark' });
    const pdf = (await page.pdf({ format })).toString('latin1');
    const boxes = [...pdf.matchAll(/\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/g)];
    expect(boxes.length).toBeGreaterThan(1);
    for (const [, w, h] of boxes) {
      close(Number(w), width, { abs: 1, unit: 'pt', why: 'sizes in whole points' });
      close(Number(h), height, { abs: 1, unit: 'pt', why: 'sizes in whole points' });
    }
    // The margins are 12 mm and 13 mm; a CSS pixel is 1/96 inch.
    const inside = {
      width: Math.floor(width / 0.75 - (24 / 25.4) * 96),
      height: Math.floor(height / 0.75 - (26 / 25.4) * 96),
    };
    await page.emulateMedia({ media: 'print' });
    await page.setViewportSize(inside);
    expect(await inPage(page, 'document.documentElement.scrollWidth')).toBe(inside.width);
    const tallest =
      "Math.max(...[...document.querySelectorAll('figure,tr')].map((one) => one.getBoundingClientRect().height))";
    expect(await inPage<number>(page, tallest)).toBeLessThan(inside.height);
    expect(await inPage(page, 'getComputedStyle(document.body).backgroundColor')).toBe(
      'rgb(255, 255, 255)',
    );
  });
});
