// Patching along in a real browser: by keys alone, accessible, ticks that survive a reload, and unusual
// patches.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { expectAccessible } from '../accessibility.ts';
import { chained } from '../output/along/chained.ts';
import { browsing, folderWith, handOut, inPage } from './browser.ts';
import { useAlong } from './controls-along.ts';

const NAME = 'closed-hat';

const { visit, serve } = browsing();

interface Opened {
  readonly page: Page;
  readonly write: (text: string) => void;
}

async function served(text: string | undefined, options = {}): Promise<Opened> {
  const folder = folderWith(NAME);
  const path = join(folder, `${NAME}.yaml`);
  const write = (other: string): void => writeFileSync(path, other);
  if (text !== undefined) write(text);
  const { url } = await serve(folder, NAME);
  const { page } = await visit(url, options);
  return { page, write };
}

const opener = (page: Page) => page.getByRole('button', { name: 'Patch along' });
const button = (page: Page, name: string) =>
  page.locator('dialog').getByRole('button', { name, exact: true });
const numberIs = (page: Page, number: number) =>
  expect.poll(() => page.locator('.along-number').textContent()).toMatch(RegExp(`^${number} `));
const ticked = (page: Page) =>
  inPage<string[]>(
    page,
    "[...document.querySelectorAll('input[data-cable]:checked')].map((one) => one.dataset.cable)",
  );

/** What lies under the dialog is out of the way meanwhile: the checker takes it to be over it. */
async function accessible(page: Page): Promise<void> {
  const content = '.strip, main { visibility: hidden } dialog { visibility: visible }';
  const style = await page.addStyleTag({ content });
  for (const [colorScheme, width, height] of [
    ['light', 1280, 800],
    ['dark', 390, 844],
  ] as const) {
    await page.emulateMedia({ colorScheme });
    await page.setViewportSize({ width, height });
    await expectAccessible(page);
  }
  await style.evaluate((one) => one.parentNode?.removeChild(one));
}

describe('by keys alone', () => {
  it('goes from cable to cable, light, 1280 px wide, and dark, 390 px wide', async () => {
    const { page } = await served(undefined, { bypassCSP: true });
    await opener(page).focus();
    await page.keyboard.press('Enter');
    await numberIs(page, 1);
    await expect.poll(() => page.locator('.along-volts').textContent()).toContain('0 V to 4.95 V');
    await accessible(page);
    // Enter, as the focus is there, and its letter.
    await page.keyboard.press('Enter');
    await numberIs(page, 2);
    expect(await page.locator('.along-volts').textContent()).toContain(
      '5 V at rest, 0.025 V when on',
    );
    await page.keyboard.press('n');
    const suspects = page.locator('.along-suspects');
    await suspects.waitFor();
    expect(await suspects.textContent()).toContain('0.455 V at rest, 5 V when on');
    await accessible(page);
    await page.keyboard.press('d');
    await numberIs(page, 3);
    await expect.poll(() => suspects.count()).toBe(0);
    await page.keyboard.press('ArrowLeft');
    await numberIs(page, 2);
    for (let left = 8; left > 0; left--) {
      await page.keyboard.press('ArrowRight');
      await numberIs(page, 10 - left + 1);
    }
    // Now it sounds.
    await button(page, 'Play').waitFor();
    await page.keyboard.press('p');
    await button(page, 'Stop').waitFor();
    await accessible(page);
    // A digit switches to no version below.
    await page.keyboard.press('1');
    await page.keyboard.press('Escape');
    await expect.poll(() => page.locator('dialog').count()).toBe(0);
    expect(await opener(page).evaluate((one) => one.matches(':focus'))).toBe(true);
    expect(await ticked(page)).toEqual([
      'drums.hat adapt.voltage-in',
      'adapt.switch-out shape.trigger',
    ]);
  });
});

it('has no control that does not do what it says', async () => {
  const { page } = await served(undefined);
  await opener(page).click();
  await numberIs(page, 1);
  await useAlong(page);
});

describe('ticks', () => {
  it('outlive a reload, and an edit elsewhere; of a cable that goes and comes back too', async () => {
    const original = readFileSync(join(folderWith(NAME), `${NAME}.yaml`), 'utf8');
    const { page, write } = await served(original);
    const boxes = page.locator('input[data-cable]');
    await boxes.nth(0).check();
    await boxes.nth(2).check();
    const both = ['drums.hat adapt.voltage-in', 'shape.out level.control'];
    await page.reload();
    await expect.poll(() => ticked(page)).toEqual(both);
    write(original.replace(/^ *- shape\.out .*\n/m, '').replace('title: ', 'title: Another '));
    await expect.poll(() => boxes.count()).toBe(9);
    expect(await ticked(page)).toEqual([both[0]]);
    write(original);
    await expect.poll(() => boxes.count()).toBe(10);
    expect(await ticked(page)).toEqual(both);
    // It begins with the first that is not done.
    await opener(page).click();
    await numberIs(page, 2);
    // A file that breaks meanwhile is told of, and its cables come back.
    write(original.replace('kind: noise', 'kind: noice'));
    await page.getByText('The file has a mistake').waitFor();
    write(original);
    await numberIs(page, 2);
    // What is doubted is told again when the file changes, and a hand stays where it is.
    await button(page, 'It is not so').click();
    await page.locator('.along-suspects').waitFor();
    await button(page, 'Back').focus();
    write(original.replace(/^ *- touch\.out .*\n/m, ''));
    await expect.poll(() => page.locator('.along-number').textContent()).toMatch(/^2 of 9/);
    await page.locator('.along-suspects').waitFor();
    expect(await inPage(page, 'document.activeElement.textContent')).toBe('Back');
  });

  it('outlive a reload of the hand-out, and are its own', async () => {
    const folder = folderWith(NAME);
    const url = handOut(folder, NAME);
    const other = handOut(folder, NAME, 'other.html');
    const { page } = await visit(url);
    await page.locator('input[data-cable]').first().check();
    await page.reload();
    await expect.poll(async () => (await ticked(page)).length).toBe(1);
    await page.goto(other);
    await page.locator('.strip .play:enabled').waitFor();
    expect(await ticked(page)).toEqual([]);
  });
});

describe('an odd patch', () => {
  it('without a cable says so', async () => {
    const { page } = await served('modules: { out: { kind: output } }\n');
    await opener(page).click();
    await page.getByText('This patch has no cables').waitFor();
    await page.keyboard.press('Escape');
    await expect.poll(() => page.locator('dialog').count()).toBe(0);
  });

  it('of sixty modules, with a circle, is told to its end', async () => {
    const { page } = await served(`${chained(58)}  - tone.triangle -> tone.pitch\n`);
    await opener(page).click();
    await page.locator('dialog').getByRole('combobox').selectOption({ index: 59 });
    await button(page, 'Play').waitFor();
    await expect
      .poll(() => page.locator('.along-volts').textContent())
      .toContain('on a meter for alternating');
  });
});
