// The worksheet by keyboard alone: a whole task in few keys, and no key after which the focus is nowhere,
// since the next key would then act on the page as a whole (Space plays, a digit is a version).
//
// Source of "visible" and "in order": WCAG 2.2, 2.1.1 and 2.4.3; how many keys are few is our own rule.

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BrowserContextOptions, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { expectAccessible } from '../accessibility.ts';
import { browsing, folderWith, handOut, inPage, settled, until } from './browser.ts';
import { FILE, folder, NAME } from './controls-place.ts';

const { visit, serve } = browsing();

async function opened(options: BrowserContextOptions = {}): Promise<{ page: Page; path: string }> {
  const place = folderWith(NAME);
  const { url } = await serve(place, NAME);
  const { page } = await visit(url, options);
  await until(page, 'watch.isChecked');
  return { page, path: join(place, FILE) };
}

const message = (page: Page) => page.locator('.desk .message');
const versions = (page: Page) => page.locator('.bank tbody tr');
const focused = (page: Page) =>
  inPage<string>(
    page,
    `(({ dataset, ariaLabel, placeholder, textContent, tagName }) =>
      tagName === 'BODY' ? 'nothing' : ariaLabel || textContent.trim() || placeholder)(document.activeElement)`,
  );

describe('a hat is auditioned by keyboard alone', () => {
  it('played, changed, kept, compared, mended, taken back and saved', async () => {
    const { page, path } = await opened({ viewport: { width: 1280, height: 800 } });
    const press = async (...keys: readonly string[]): Promise<void> => {
      for (const key of keys) await page.keyboard.press(key);
    };
    const find = async (words: string): Promise<void> => {
      await press('/');
      await page.keyboard.type(words);
      await press('Enter');
    };
    await press('Space');
    await page.locator('.play', { hasText: 'Stop' }).waitFor();
    await find('shape release');
    await expect.poll(() => focused(page)).toBe('shape release');
    await press('Control+a');
    await page.keyboard.type('20 ms');
    await press('Enter', 'Tab');
    await settled(page);
    expect(await focused(page)).toBe('shape release, scale');
    await press('k');
    await expect.poll(() => versions(page).count()).toBe(1);
    await press('ArrowUp', 'ArrowUp');
    await settled(page);
    await press('k');
    await expect.poll(() => versions(page).count()).toBe(2);
    await inPage(page, 'watch.isChecked = false');
    await press('1');
    await expect.poll(() => message(page).textContent()).toBe('Sounding: version 1.');
    // The message before goes when the new one comes.
    await until(page, 'watch.isChecked');
    await page.locator('.told-row .mend:enabled').waitFor();
    // Past the button back to what is usual.
    await press('Tab', 'Tab');
    expect(await focused(page)).toBe('Mend');
    await press('Enter');
    await expect.poll(() => message(page).textContent()).toMatch(/^Mended: /);
    expect(await focused(page)).toBe('shape release, scale');
    await press('Control+z', 'Control+s');
    await expect.poll(() => message(page).textContent()).toMatch(/^Saved: /);
    expect(readFileSync(path, 'utf8')).toContain('release: 20 ms');
    await find('kept');
    await expect.poll(() => focused(page)).toBe('Kept versions');
    await press('Tab');
    expect(await inPage(page, 'document.activeElement.placeholder')).toBe('version 3');
  });
});

describe('no button loses the focus', () => {
  it('whatever it removes or can no longer do', async () => {
    const { page } = await visit(handOut(folder(), NAME));
    await until(page, 'watch.isChecked');
    await page.getByRole('button', { name: 'Open all' }).click();
    const field = page.getByLabel('shape decay', { exact: true });
    for (const value of ['90 ms', '95 ms']) {
      await field.fill(value);
      await field.press('Enter');
      await settled(page);
      await page.keyboard.press('Tab');
      await page.keyboard.press('k');
    }
    await expect.poll(() => versions(page).count()).toBe(2);
    await page.locator('[data-jack]').first().click();
    await page.getByRole('button', { name: 'Back to the mix' }).waitFor();
    // What is handed out goes nowhere here, and patching along has a test of its own.
    const { lost, first } = await inPage<Record<'lost' | 'first', readonly string[]>>(
      page,
      `(async () => {
        const nameOf = (one) => one.ariaLabel || one.textContent.trim();
        const there = () => [...document.querySelectorAll('button:enabled')].filter((one) =>
          one.checkVisibility() && !/WAV|Download|MIDI|Patch along/.test(nameOf(one)));
        const first = there().map(nameOf);
        const frame = () => new Promise((done) => requestAnimationFrame(done));
        const later = () => frame().then(frame).then(() => new Promise((done) => setTimeout(done)));
        const lost = [];
        const done = new Set();
        const next = () => there().find((one) => !done.has(nameOf(one)));
        for (let one = next(); one; one = next()) {
          const name = nameOf(one);
          done.add(name);
          one.focus();
          // Until there is nothing left to do.
          for (let times = 0; times < 5 && document.activeElement === one; times++) {
            one.click();
            await later();
          }
          if (document.activeElement === document.body) lost.push(name);
        }
        return { lost, first };
      })()`,
    );
    expect(lost).toEqual([]);
    // How many come while it goes on is up to what the engine says when.
    expect(new Set(first).size).toBeGreaterThan(30);
  });
});

describe('in forced colours', () => {
  it('what is chosen stands out', async () => {
    const { page } = await opened({ forcedColors: 'active', colorScheme: 'dark', bypassCSP: true });
    await page.getByRole('button', { name: 'hat', exact: true }).click();
    const looks = (selector: string, what: string): Promise<string> =>
      inPage(page, `getComputedStyle(document.querySelector('${selector}')).${what}`);
    const pressed = await looks('.chapter[aria-pressed=true]', 'backgroundColor');
    expect(pressed).not.toBe(await looks('.chapter[aria-pressed=false]', 'backgroundColor'));
    // One entry of the song is marked, not all.
    const edge = 'borderLeftColor';
    expect(await looks('.entries [aria-selected=false]', edge)).toBe(
      await looks('body', 'backgroundColor'),
    );
    expect(await looks('.entries [aria-selected=true]', edge)).not.toBe(
      await looks('body', 'backgroundColor'),
    );
    await expectAccessible(page);
  });
});
