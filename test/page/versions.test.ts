// Kept versions in a real browser, compared as the command compares: moves, figures, a blind test, and undo
// that goes back gesture by gesture.

import { copyFileSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { expectAccessible } from '../accessibility.ts';
import { forehear } from '../cli/run.ts';
import { browsing, folderWith, inPage, pressed, settled, until } from './browser.ts';

const NAME = 'closed-hat';

const { visit, serve } = browsing();

async function served(options = {}): Promise<{ page: Page; folder: string; path: string }> {
  const folder = folderWith(NAME);
  const { url } = await serve(folder, NAME);
  const { page } = await visit(url, options);
  await page.getByRole('button', { name: 'Open all' }).click();
  await settled(page);
  return { page, folder, path: join(folder, `${NAME}.yaml`) };
}

const decay = (page: Page) => page.getByLabel('shape release', { exact: true });
const rows = (page: Page) => page.locator('.bank tbody tr');
const status = (page: Page) => page.locator('.desk .message');

async function put(page: Page, value: string): Promise<void> {
  await decay(page).fill(value);
  await decay(page).press('Enter');
  await until(page, `document.querySelector('.edits button:enabled')`);
  await settled(page);
}

async function keep(page: Page, name: string): Promise<void> {
  const count = await rows(page).count();
  await page.getByLabel('Name', { exact: true }).fill(name);
  await page.getByLabel('Name', { exact: true }).press('Enter');
  await expect.poll(() => rows(page).count()).toBe(count + 1);
}

describe('versions', () => {
  it('are told what differs, and have the figures of compare', async () => {
    const { page, folder, path } = await served({ bypassCSP: true });
    await keep(page, 'short');
    copyFileSync(path, join(folder, 'first.yaml'));
    await put(page, '400 ms');
    await keep(page, 'long');
    await expect
      .poll(() => rows(page).nth(1).locator('.moves').textContent())
      .toMatch(/^turn shape\.release from .* to 400 ms$/);
    await page.getByText('Figures side by side').click();
    const figures = page.locator('.figures tbody tr');
    await expect.poll(() => page.locator('.figures').textContent()).not.toContain('…');
    await page.getByText('Spectra over each other').click();
    const chart = page.getByRole('group', { name: 'Spectra of kept versions' });
    await expect.poll(() => chart.locator('text', { hasText: /^(short|long)$/ }).count()).toBe(2);
    // Told apart without their colours.
    const dashes = chart.locator('path[stroke-width="1.8"]');
    const drawn = await dashes.evaluateAll((all) =>
      all.map((one) => one.getAttribute('stroke-dasharray')),
    );
    expect(new Set(drawn).size).toBe(2);
    await expectAccessible(page);
    await page.getByLabel('spectrum of short').click();
    await expect
      .poll(() => page.locator('.passing figcaption').textContent())
      .toContain('Spectra of long,');
    // What the command says of the same two.
    writeFileSync(path, readFileSync(path, 'utf8'));
    const { stdout, stderr } = forehear(folder, [
      'compare',
      'first.yaml',
      '--vary',
      `shape.release=${await first(page)},400ms`,
      '--pairs',
      '-o',
      'out',
    ]);
    const words = stdout + stderr;
    for (const row of await figures.all()) {
      const name = (await row.locator('th').textContent()) ?? '';
      const cells = await row.locator('td').allTextContents();
      const last = cells.at(-1) as string;
      // Levels are those after the gain there, and before it here.
      if (name === 'true peak') expect(last).toMatch(/ dBTP$/);
      // A minus here is a hyphen there, for scripts.
      else expect(words, name).toContain(last.replace('−', '-'));
    }
  });

  it('are not kept twice, whatever words the file has for them', async () => {
    const { page, path } = await served();
    await keep(page, 'one');
    const text = readFileSync(path, 'utf8');
    writeFileSync(path, `# another word\n${text}`);
    await expect.poll(() => status(page).textContent()).toContain('read again');
    await settled(page);
    await page.getByRole('button', { name: 'Keep what sounds now' }).click();
    await expect
      .poll(() => status(page).textContent())
      .toMatch(/^This is kept already, as one: it is patched and set alike/);
    expect(await rows(page).count()).toBe(1);
    // Another sound is late: the one that plays on is that of other texts, and is not kept as theirs.
    await inPage(page, "(watch.isHeld = ({ type }) => type === 'sound'), 0");
    writeFileSync(path, text.replace('release: 110 ms', 'release: 400 ms'));
    await expect.poll(() => decay(page).getAttribute('data-text')).toBe('400 ms');
    await keep(page, 'two');
    await inPage(page, 'watch.letGo.forEach((go) => go())');
    await settled(page);
    const loudness = (row: number) => rows(page).nth(row).locator('td.figure').first();
    await expect.poll(() => loudness(1).textContent()).toContain('LUFS');
    expect(await loudness(1).textContent()).not.toBe(await loudness(0).textContent());
    // What was typed just before is on its way.
    await decay(page).fill('500 ms');
    await page.getByRole('button', { name: 'Keep what sounds now' }).click();
    await expect
      .poll(() => rows(page).nth(2).locator('.moves').textContent())
      .toContain(' to 500 ms');
  });

  it('can be saved by whoever wants that while the file is gone, and no alert outlives its cause', async () => {
    const { page, path } = await served();
    const alert = page.locator('.notices a[href="#problems"]');
    const text = readFileSync(path, 'utf8');
    writeFileSync(path, `# another word\n${text}`);
    await expect.poll(() => status(page).textContent()).toContain('read again');
    rmSync(path);
    await expect.poll(() => alert.textContent()).toContain('cannot be read');
    await expect.poll(() => status(page).textContent()).toBe('');
    await put(page, '400 ms');
    await page.getByRole('button', { name: /^Save \*/ }).click();
    await expect.poll(() => alert.textContent()).toContain('Not saved');
    writeFileSync(path, `# another word\n${text}`);
    await expect.poll(() => alert.count()).toBe(0);
    expect(await status(page).textContent()).toContain('is there again');
  });

  it('are told apart blind, with names and pictures hidden, and an honest verdict', async () => {
    const { page } = await served({ bypassCSP: true });
    await keep(page, 'short');
    await put(page, '400 ms');
    await keep(page, 'long');
    await page.getByText('Can you tell two apart?').click();
    const at = (id: string) => page.locator(`#${id}`);
    await at('trials').fill('5');
    await at('begin').click();
    await at('blind').waitFor();
    expect(await page.locator('.bank').count()).toBe(0);
    expect(await page.locator('.waveform .outline').getAttribute('d')).toBe('');
    await expectAccessible(page);
    // By ear: what is started last, against what the first of the two is.
    const sound = async (key: string): Promise<string> => {
      const count = await inPage<number>(page, 'watch.starts.length');
      await page.keyboard.press(key);
      await until(page, `watch.starts.length > ${count}`);
      return inPage(page, 'watch.starts.at(-1).loop.slice(0, 20000).join()');
    };
    await page.locator('h1').click();
    for (let trial = 1; trial <= 5; trial++) {
      await expect.poll(() => at('blind-count').textContent()).toBe(`Trial ${trial} of 5`);
      const one = await sound('1');
      const x = await sound('x');
      await at(x === one ? 'answer-first' : 'answer-second').click();
    }
    // All of five by guessing: 1 in 32.
    await expect
      .poll(() => at('blind-result').textContent())
      .toMatch(/^Right 5 of 5 times\..* 3\.1 %\. You told them apart\. The first was (short|long)/);
    // Then all is as it was.
    expect(await rows(page).count()).toBe(2);
    await expect.poll(() => page.locator('.waveform .outline').getAttribute('d')).not.toBe('');
  });
});

describe('undo', () => {
  it('takes a slow drag back as one step, and quick keys on one setting', async () => {
    const { page } = await served();
    const undo = page.getByRole('button', { name: 'Undo' });
    const before = await decay(page).inputValue();
    const scale = page.getByLabel('shape release, scale', { exact: true });
    await scale.scrollIntoViewIfNeeded();
    // What comes above moves it; a hover waits until it stands.
    await settled(page);
    await scale.hover();
    const box = await scale.boundingBox();
    if (box === null) throw new Error('the scale has no place');
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + 0.3 * box.width, y);
    await page.mouse.down();
    await page.mouse.move(box.x + 0.5 * box.width, y);
    await settled(page);
    // Time is what is tried: keys a second apart are two steps back, a drag is one however long it takes.
    await page.waitForTimeout(1100);
    await page.mouse.move(box.x + 0.7 * box.width, y);
    await settled(page);
    await page.mouse.up();
    const dragged = await decay(page).inputValue();
    expect(dragged).not.toBe(before);
    await scale.focus();
    await pressed(page, 'ArrowDown', 5);
    await settled(page);
    expect(await decay(page).inputValue()).not.toBe(dragged);
    await undo.click();
    await expect.poll(() => decay(page).inputValue()).toBe(dragged);
    await undo.click();
    await expect.poll(() => decay(page).inputValue()).toBe(before);
    expect(await undo.isDisabled()).toBe(true);
  });
});

/** The value of the first version, as the row of the other tells it. */
async function first(page: Page): Promise<string> {
  const words = (await rows(page).nth(1).locator('.moves').textContent()) ?? '';
  return (/from (.*) to /.exec(words)?.[1] ?? '').replace(' ', '');
}
