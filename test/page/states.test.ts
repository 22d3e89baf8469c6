// The page in unusual states: a file that is broken, gone or changed elsewhere, a song longer than the
// loop, keys in fields. Each control does what it says, or refuses in words.

import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BrowserContextOptions, Page, Route } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { browsing, folderWith, handOutOf, inPage, settled, until } from './browser.ts';
import { Controls } from './controls.ts';
import { heard } from './controls-sheet.ts';

const NAME = 'closed-hat';
const FILE = `${NAME}.yaml`;

const { visit, serve } = browsing();

interface Opened {
  readonly page: Page;
  /** The file's. */
  readonly path: string;
  readonly write: (change: (text: string) => string) => void;
  readonly remove: () => void;
  readonly text: () => string;
}

/** The page of an example, served, after a change of its text. */
async function served(
  change: (text: string) => string = (text) => text,
  options: BrowserContextOptions = {},
  ready?: string,
): Promise<Opened> {
  const folder = folderWith(NAME);
  const path = join(folder, FILE);
  const original = readFileSync(path, 'utf8');
  const write = (other: (text: string) => string): void => writeFileSync(path, other(original));
  write(change);
  const { url } = await serve(folder, NAME);
  const { page } = await visit(url, options, ready);
  return {
    page,
    path,
    write,
    remove: () => rmSync(path),
    text: () => readFileSync(path, 'utf8'),
  };
}

const broken = (text: string): string => text.replace('kind: noise', 'kind: noice');
const message = (page: Page) => page.locator('.desk .message');
const says = (page: Page, words: RegExp) =>
  expect.poll(() => message(page).textContent()).toMatch(words);
const button = (page: Page, name: string) => page.getByRole('button', { name, exact: true });
const decay = (page: Page) => page.getByLabel('shape decay', { exact: true });
const openAll = (page: Page) => button(page, 'Open all').click();

async function put(page: Page, value: string): Promise<void> {
  await decay(page).fill(value);
  await decay(page).press('Enter');
}

describe('a file that is broken from the start', () => {
  it('waits for nothing that cannot come, and refuses in words', async () => {
    const { page, write } = await served(broken, {}, '.problems pre');
    // Nothing is said to be on its way.
    await expect
      .poll(() => inPage<string>(page, 'document.body.innerText'))
      .toContain('The check waits');
    expect(await inPage<string>(page, 'document.body.innerText')).not.toMatch(
      /under way|being (drawn|written|read)/,
    );
    await button(page, 'Clip as WAV').click();
    await says(page, /^There is no clip: there is nothing to hear yet/);
    await button(page, 'Keep what sounds now').click();
    await says(page, /^There is nothing to keep/);
    await button(page, 'Saved').click();
    await says(page, /nothing to save/);
    await page.getByLabel('Length').selectOption('2 bars');
    expect(await page.locator('.strip .play').isDisabled()).toBe(true);
    // Mended, all of it comes.
    write((text) => text);
    await page.locator('.strip .play:enabled').waitFor();
    await page.locator('[data-jack]').first().waitFor();
    await page.getByText('The check finds nothing wrong').first().waitFor();
    await page.locator('img.score').first().waitFor();
  });
});

describe('a file that breaks meanwhile', () => {
  it('is told of at the hand, by its own line, and what sounds can be kept', async () => {
    const { page, path, write, text } = await served();
    await settled(page);
    await openAll(page);
    write(broken);
    await page.locator('.problems pre').waitFor();
    await put(page, '81 ms');
    const refusal = page.locator('.refusal:visible');
    // That of the noise; the setting's own line is another.
    const line =
      text()
        .split('\n')
        .findIndex((one) => one.includes('noice')) + 1;
    await expect.poll(() => refusal.textContent()).toContain(`mistake (${path}, line ${line})`);
    expect(await refusal.textContent()).not.toContain('noice');
    await decay(page).press('Escape');
    // A scale and a choice refuse likewise, and stand where they were.
    const before = await decay(page).inputValue();
    await page.getByLabel('shape decay, scale').press('ArrowUp');
    await expect.poll(() => refusal.count()).toBe(1);
    expect(await decay(page).inputValue()).toBe(before);
    const mode = page.getByLabel('shape mode', { exact: true });
    const chosen = await mode.inputValue();
    await mode.selectOption({ index: chosen === 'gate' ? 1 : 0 });
    await expect.poll(() => refusal.count()).toBe(2);
    expect(await mode.inputValue()).toBe(chosen);
    await page.locator('.tab td').first().click();
    await expect.poll(() => refusal.count()).toBe(3);
    // The last good sound is kept under its own texts, and its clip is given.
    await button(page, 'Keep what sounds now').click();
    await says(page, /^Kept: version 1\./);
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      button(page, 'Clip as WAV').click(),
    ]);
    expect(download.suggestedFilename()).toBe(`${NAME}.wav`);
    await button(page, 'Hear version 1').click();
    await expect.poll(() => page.locator('.problems pre').count()).toBe(0);
  });
});

describe('a file that is gone', () => {
  it('is written again only when asked for', async () => {
    const { page, remove, text } = await served();
    await settled(page);
    await openAll(page);
    remove();
    await page.getByText(/The file cannot be read: .* the folder\.(?!\.)/).waitFor();
    await put(page, '82 ms');
    await button(page, 'Save * (there are unsaved edits)').click();
    await button(page, 'Leave it as it is').click();
    expect(text).toThrow();
    await page.locator('.edits .due').click();
    await button(page, 'Write over it').click();
    await button(page, 'Saved').waitFor();
    expect(text()).toContain('82 ms');
  });
});

describe('a file that is changed elsewhere', () => {
  it('and what is here: either goes on, the other is kept', async () => {
    const { page, write } = await served();
    await settled(page);
    await openAll(page);
    // What is typed for a step stays, though the step is a rest now; that it is not taken is said beside it.
    const gate = page.getByLabel('groove, hat, beat 1, step 1: gate');
    const first = page.locator('.tab td[data-step="0"]').first();
    await first.focus();
    await gate.fill('30 ms');
    write((text) => text.replace('X-x-X-x- X', '--x-X-x- X'));
    await expect.poll(() => first.getAttribute('data-sign')).toBe('-');
    expect(await gate.inputValue()).toBe('30 ms');
    await gate.press('Enter');
    await page.locator('.step-says .refusal').waitFor();
    expect(await gate.inputValue()).toBe('30 ms');
    await gate.press('Escape');
    write((text) => text);
    await expect.poll(() => first.getAttribute('data-sign')).toBe('X');
    await put(page, '83 ms');
    await page.locator('.edits .due').waitFor();
    write((text) => text.replace(/decay: [\d.]+ ms/, 'decay: 300 ms'));
    const link = page.getByRole('link', { name: 'The file has changed on disk' });
    await link.click();
    await button(page, 'Stay with what is here').click();
    expect(await decay(page).inputValue()).toBe('83 ms');
    await button(page, 'Hear from the file on disk').click();
    await expect.poll(() => decay(page).inputValue()).toBe('300 ms');
  });
});

describe('keys', () => {
  it('write where one writes, and do nothing else, in every field', async () => {
    const { page } = await served((text) => text, { viewport: { width: 1280, height: 6000 } });
    await settled(page);
    await openAll(page);
    await decay(page).waitFor();
    for (const name of ['one', 'two']) {
      await page.getByLabel('Name').fill(name);
      await page.getByLabel('Name').press('Enter');
      if (name === 'one') await put(page, '84 ms');
      await settled(page);
    }
    await expect.poll(() => page.locator('.bank tbody tr').count()).toBe(2);
    await button(page, 'Save as…').click();
    const controls = new Controls(page);
    const fields = (await controls.all()).filter(({ role }) =>
      ['textbox', 'searchbox', 'gridcell'].includes(role),
    );
    expect(fields.length).toBeGreaterThan(40);
    const state = () =>
      inPage<string>(
        page,
        `[document.querySelector('.strip .play').textContent,
          document.querySelector('.bank [aria-current] th').textContent].join()`,
      );
    const before = await state();
    for (const field of fields) {
      const at = await controls.at(field);
      await at.focus();
      for (const key of ['1', field.role === 'gridcell' ? '9' : 'Space', 'Control+z'])
        if (field.role !== 'gridcell' || key !== 'Control+z') await page.keyboard.press(key);
      await page.keyboard.press('Escape');
      if (field.name === 'New file') await button(page, 'Save as…').click();
      expect(await state(), field.name).toBe(before);
    }
  });

  it('stay with the pattern and the settings when what had the focus is gone', async () => {
    const { page, write } = await served();
    await settled(page);
    await openAll(page);
    await page.getByLabel('Name').fill('one');
    await page.getByLabel('Name').press('Enter');
    await page.locator('.bank tbody tr').waitFor();
    const isThere = (at: string, there = true): Promise<void> =>
      until(page, `${there ? '' : '!'}document.querySelector('${at}')`);
    const focused = (): Promise<string> =>
      inPage(
        page,
        '(({ dataset, tagName }) => dataset.step ?? dataset.takesKeys ?? tagName)(document.activeElement)',
      );
    const last = '.tab td[data-step="15"]';
    const cases = [
      // A line that is shorter: its last step has the focus now.
      { at: last, from: 'X-x-X-x- X-xxX-x-', to: 'X-x-X-x-', gone: last, now: '7', keys: ['1'] },
      // A pattern of another name is another: what was meant for the first is not written into it.
      {
        at: '.tab td[data-step="2"]',
        from: 'groove',
        to: 'beat',
        gone: '[aria-label="Pattern groove"]',
        now: '',
        keys: ['1', 'Space'],
      },
      {
        at: '[aria-label="shape decay"]',
        from: 'shape',
        to: 'hull',
        gone: '[aria-label="shape decay"]',
        now: '',
        keys: ['1', 'Space'],
      },
    ];
    for (const { at, from, to, gone, now, keys } of cases) {
      write((text) => text);
      for (const one of [last, at, gone]) await isThere(one);
      await page.locator(at).first().focus();
      write((text) => text.replaceAll(from, to));
      await isThere(gone, false);
      expect(await focused(), to).toBe(now);
      for (const key of keys) await page.keyboard.press(key);
      expect(await message(page).textContent(), to).not.toMatch(/^Sounding/);
      expect(await page.locator('.strip .play').textContent(), to).toBe('Play');
    }
  });

  it('save what is typed and not yet taken', async () => {
    const { page, text } = await served();
    await settled(page);
    await openAll(page);
    await decay(page).fill('85 ms');
    await decay(page).press('Control+s');
    await says(page, /^Saved: /);
    expect(text()).toContain('decay: 85 ms');
    // Saved again while the host is slow with the first.
    const held = (): Promise<Route> =>
      new Promise((resolve) => void page.route('**/save', resolve, { times: 1 }));
    const asked = held();
    await put(page, '87 ms');
    await decay(page).press('Control+s');
    const request = await asked;
    await put(page, '88 ms');
    await decay(page).press('Control+s');
    await request.continue();
    await expect.poll(text).toContain('decay: 88 ms');
    await button(page, 'Saved').waitFor();
    // As another file, while the hand goes on: it is not taken from where it is.
    const askedAs = held();
    await button(page, 'Save as…').click();
    await page.getByLabel('New file').press('Enter');
    const requestAs = await askedAs;
    await decay(page).focus();
    await requestAs.continue();
    await button(page, 'Save as…').waitFor();
    expect(await inPage(page, 'document.activeElement.ariaLabel')).toBe('shape decay');
    await decay(page).fill('86 ms');
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      button(page, 'Download the file').click(),
    ]);
    expect(readFileSync(await download.path(), 'utf8')).toContain('decay: 86 ms');
  });
});

describe('a jack', () => {
  it('that is listened at moves no diagram, and is what the strip draws', async () => {
    const { page } = await visit(handOutOf(NAME));
    await until(page, 'watch.isChecked');
    await settled(page);
    const jack = page.locator('[data-jack="shape.out"]').first();
    const outline = () => page.locator('.waveform .outline').getAttribute('d');
    await jack.scrollIntoViewIfNeeded();
    const place = await jack.boundingBox();
    const mix = await outline();
    await jack.click();
    await heard(page);
    await page.getByRole('img', { name: /^Volts at shape.out through the loop/ }).waitFor();
    expect(await jack.boundingBox()).toEqual(place);
    await expect.poll(outline).not.toBe(mix);
    // With the mouse alone: Playwright's own click scrolls to what is sticky.
    const { x = 0, y = 0 } = (await button(page, 'Back to the mix').boundingBox()) ?? {};
    await page.mouse.click(x + 4, y + 4);
    await expect.poll(outline).toBe(mix);
    expect(await jack.boundingBox()).toEqual(place);
  });
});

describe('a score on a narrow screen', () => {
  it('is not cut off, and its line moves over the whole of it', async () => {
    const { page } = await served((text) => text, { viewport: { width: 390, height: 844 } });
    await page.locator('img.score').first().waitFor();
    await settled(page);
    const [room, width, natural] = await inPage<[number, number, number]>(
      page,
      `(() => {
        const image = document.querySelector('img.score');
        const wide = image.closest('.wide');
        return [wide.scrollWidth, image.getBoundingClientRect().width, image.width];
      })()`,
    );
    expect(width).toBe(natural);
    expect(room).toBeGreaterThanOrEqual(width);
    const line = () =>
      inPage<number>(
        page,
        `(() => {
          const now = document.querySelector('.timed .now').getBoundingClientRect();
          return now.left - document.querySelector('img.score').getBoundingClientRect().left;
        })()`,
      );
    const slider = page.getByRole('slider', { name: 'Place in the loop' });
    await slider.press('Home');
    const start = await line();
    await slider.press('End');
    // The last of two bars begins in the middle of the time axis, whose ends lie within the picture.
    await expect.poll(line).toBeGreaterThan(start + 0.3 * natural);
    expect(await line()).toBeLessThan(0.7 * natural);
  });
});

describe('a song longer than what is kept', () => {
  it('can be played from any of its entries, and any pattern alone', async () => {
    const { page } = await served((text) =>
      text
        .replace(
          /patterns:\n.*\n/,
          'patterns:\n      groove: { hat: "x-x-X-x- x-xxX-x-" }\n      fill: { hat: "-X" }\n',
        )
        .replace(
          'song: [groove, groove]',
          'song: [{ pattern: groove, repeats: 40 }, fill, { pattern: groove, repeats: 40 }]',
        ),
    );
    await settled(page);
    await page.getByText('a minute at most is kept here').waitFor();
    const frames = () => inPage<number>(page, 'watch.sounds.at(-1).frames');
    expect(await frames()).toBeLessThanOrEqual(60 * 48_000);
    const from = page.getByLabel('From');
    expect(await from.locator('option').allTextContents()).toEqual([
      'the start',
      'drums: entry 1, groove × 40',
      'drums: entry 2, fill',
      'drums: entry 3, groove × 40',
      'drums: groove',
      'drums: fill',
    ]);
    // Two sixteenths at 92 quarters a minute.
    await from.selectOption('drums: fill');
    await expect.poll(frames).toBe(Math.round((60 / 92 / 2) * 48_000));
    await from.selectOption('drums: entry 2, fill');
    await expect.poll(frames).toBeGreaterThan(50 * 48_000);
    await settled(page);
    // It begins with the fill, and that with a rest, where the song begins with a hit.
    const loudest = () =>
      inPage<number>(
        page,
        'watch.sounds.at(-1).loop.slice(0, 2_000).reduce((most, x) => Math.max(most, Math.abs(x)), 0)',
      );
    const rest = await loudest();
    await from.selectOption('the start');
    await settled(page);
    expect(rest).toBeLessThan(0.1 * (await loudest()));
  });
});

describe('on paper', () => {
  it('there is no control, and no heading over nothing', async () => {
    const { page } = await visit(handOutOf(NAME));
    await settled(page);
    await page.emulateMedia({ media: 'print' });
    const shown = 'button, select, input:not([type=checkbox]), summary, .controls';
    expect(await page.locator(shown).locator('visible=true').count()).toBe(0);
    const bare = await inPage<string[]>(
      page,
      `[...document.querySelectorAll('section, .on-screen')].filter((one) => {
        const heading = one.querySelector('h2');
        if (!heading || heading.getBoundingClientRect().height === 0) return false;
        return one.getBoundingClientRect().height - heading.getBoundingClientRect().height < 30;
      }).map((one) => one.textContent.slice(0, 60))`,
    );
    expect(bare).toEqual([]);
  });
});
