// Every control of the pages as they are built and shipped, pressed in a real browser; the worksheet that is
// served has a file of its own.

import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import { expectAccessible } from '../accessibility.ts';
import { browsing, handOut, inPage, rests, until } from './browser.ts';
import { Controls } from './controls.ts';
import { comparisonTable } from './controls-comparison.ts';
import { lessonTable } from './controls-lesson.ts';
import { clipOf, FILE, folder, NAME, ran, ready, served, TALL } from './controls-place.ts';
import { sheetTable } from './controls-sheet.ts';

const pages = browsing();
const { visit } = pages;

describe('the pages with clips beside them', () => {
  it.each([
    ['comparison', ['compare', FILE, '--vary', 'shape.decay=20ms,60ms', '--pairs'], 'compare.html'],
    ['lesson', ['lesson', FILE], `${NAME}-lesson.html`],
  ] as const)(
    'are accessible, light and dark, while they play, and rest when they do not: the %s',
    async (_, args, html) => {
      const place = folder();
      ran(place, ...args, '-o', 'out');
      const url = String(pathToFileURL(join(place, 'out', html)));
      const { page } = await visit(url, { ...TALL, bypassCSP: true });
      await page.locator('.play').click();
      await page.locator('[aria-pressed=true]').first().waitFor();
      for (const colorScheme of ['light', 'dark'] as const) {
        await page.emulateMedia({ colorScheme });
        await expectAccessible(page);
      }
      await rests(page);
      await page.locator('.play').click();
      await until(page, "watch.context.state === 'running'");
      expect(await inPage(page, '(({ when, now }) => when > now)(watch.starts.at(-1))')).toBe(true);
    },
  );
});

describe('every control does what it says', () => {
  it.each([
    ['on a phone', { viewport: { width: 390, height: 844 } }],
    ['at 200 %', { viewport: { width: 640, height: 400 }, deviceScaleFactor: 2 }],
  ])('of the worksheet %s', async (_, options) => {
    const place = folder();
    const { page, onDisk } = await served(pages, place, options);
    const table = sheetTable({ page, file: FILE, clip: clipOf(place), onDisk });
    expect(await new Controls(page).press(table, 'roles')).toEqual([]);
  });

  it('of the hand-out, opened from its file', async () => {
    const place = folder();
    // Not tall: one of each row is enough here, and a tall page is long to paint on a busy machine.
    const { page, complaints, requests } = await visit(handOut(place, NAME));
    await ready(page);
    const table = sheetTable({ page, file: FILE, clip: clipOf(place) });
    expect(await new Controls(page).press(table, 'rows')).toEqual([]);
    expect(complaints).toEqual([]);
    expect(requests).toEqual([]);
  });

  it('of the comparison, opened from its file', async () => {
    const place = folder();
    ran(place, 'compare', FILE, '--vary', 'shape.decay=20ms,60ms,200ms', '-o', 'compared');
    const path = join(place, 'compared', 'compare.html');
    const names = ['20 ms', '60 ms', '200 ms'].map((value) => `shape.decay ${value}`);
    const { page, complaints } = await visit(String(pathToFileURL(path)));
    expect(await new Controls(page).press(comparisonTable(page, names))).toEqual([]);
    expect(complaints).toEqual([]);
  });

  it('of the lesson, opened from its file', async () => {
    const place = folder();
    ran(place, 'lesson', FILE, '-o', 'taught');
    const taught = join(place, 'taught');
    const path = join(taught, `${NAME}-lesson.html`);
    const { page, complaints, requests } = await visit(String(pathToFileURL(path)));
    expect(await new Controls(page).press(lessonTable(page))).toEqual([]);
    expect(complaints).toEqual([]);
    expect(requests).toEqual([]);
    // All that lies there but the pages and what is hidden has a link.
    const there = readdirSync(taught).filter((name) => !/^\.|\.(md|html)$/.test(name));
    const links = await page
      .locator('a')
      .evaluateAll((all) => all.map((one) => one.getAttribute('href') ?? ''));
    expect(links).toEqual(expect.arrayContaining(there));
  });

  it('of the lesson in Markdown: its links lead to what can be heard and seen', async () => {
    const place = folder();
    ran(place, 'lesson', FILE, '-o', 'taught');
    const taught = join(place, 'taught');
    const [page = ''] = readdirSync(taught).filter((name) => name.endsWith('.md'));
    const words = readFileSync(join(taught, page), 'utf8');
    const links = [...words.matchAll(/\]\(([^)]+)\)/g)].map(([, to]) => to ?? '');
    expect(links.length).toBeGreaterThan(8);
    // All that lies there but the page itself and what is hidden.
    const there = readdirSync(taught).filter((name) => !/^\.|\.(md|html)$/.test(name));
    expect(links.toSorted()).toEqual(expect.arrayContaining(there));
    // What is linked to, as a browser opens it.
    writeFileSync(
      join(taught, 'all.html'),
      links
        .map((to) => (to.endsWith('.wav') ? `<audio src="${to}"></audio>` : `<img src="${to}">`))
        .join(''),
    );
    const { page: opened } = await visit(
      String(pathToFileURL(join(taught, 'all.html'))),
      {},
      'body',
    );
    const empty = `[...document.querySelectorAll('audio, img')]
      .filter((one) => !(one.duration > 0 || one.naturalWidth > 0)).map((one) => one.outerHTML)`;
    await expect.poll(() => inPage(opened, empty)).toEqual([]);
  });
});
