// Nothing on the page moves by itself while the page fills, neither on a large screen nor on a phone.

import { afterEach, beforeAll, describe, expect, it } from 'vitest';
import { browsing, folderWith, handOutOf, inPage, listening, until } from './browser.ts';

/**
 * Web Vitals calls 0.1 of layout shift good (web.dev, "Cumulative Layout Shift"). A fifth of that is what
 * no hand notices: a line of text that moves by its own height comes to about as much.
 */
const MOST_SHIFT = 0.02;
const WIDTHS = [1280, 390];
const NAME = 'closed-hat';
/** A worker that says that it cannot start. */
const NO_ENGINE = `globalThis.Worker = class {
  constructor() { setTimeout(() => this.onerror({ message: 'not here' })); }
  postMessage() {}
};`;

// Chromium as a person has it, since what moves is what is painted.
const { visit, plainPage, ends } = browsing(afterEach, true);
let sheet: string;

beforeAll(() => {
  sheet = handOutOf(NAME);
});

/** How much moves from the first paint until the engine has said all that it has to say. */
async function shift(url: string, width: number): Promise<number> {
  const { page } = await visit(url, { viewport: { width, height: 800 } });
  await until(page, 'watch.isChecked');
  await until(page, "document.querySelector('[data-island=sound] .drawing') !== null");
  await until(page, "document.querySelector('[data-island=score] .timed') !== null");
  const shifts = await inPage<{ value: number }[]>(page, 'watch.shifts');
  return shifts.reduce((sum, { value }) => sum + value, 0);
}

describe('Layout shift', () => {
  it.each(WIDTHS)('of a hand-out, %i px wide', async (width) => {
    expect(await shift(sheet, width)).toBeLessThan(MOST_SHIFT);
  });

  it('of the page of listen', async () => {
    const { url, process } = await listening(folderWith(NAME), NAME);
    ends.push(() => process.kill('SIGINT'));
    for (const width of WIDTHS) expect(await shift(url, width)).toBeLessThan(MOST_SHIFT);
  });
});

describe('The strip', () => {
  it('takes at most a fifth of a screen, enlarged or a phone’s as well', async () => {
    const { page } = await visit(sheet);
    await until(page, 'watch.isChecked');
    for (const [width, height] of [
      [1280, 800],
      // A screen of 1280 by 800 at 200 %.
      [640, 400],
      [390, 844],
    ] as const) {
      await page.setViewportSize({ width, height });
      const strip = await page.locator('.strip').boundingBox();
      expect(strip?.height, `${width}`).toBeLessThanOrEqual(height / 5);
    }
  });
});

describe('A hand-out whose engine cannot run', () => {
  it('keeps its clip and its tables, and shows no controls', async () => {
    const page = await plainPage();
    await page.addInitScript(NO_ENGINE);
    await page.goto(sheet);
    await page.getByText('mistake of ours').waitFor();
    expect(await page.locator('audio').isVisible()).toBe(true);
    expect(
      await page
        .getByRole('cell', { name: 'cutoff' })
        .or(page.locator('.turned li'))
        .first()
        .isVisible(),
    ).toBe(true);
    expect(await page.locator('.strip, .desk').count()).toBe(0);
  });
});
