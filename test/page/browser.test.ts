// What tests of pages wait for: a request that is refused must not hide that the one before it is still played.

import type { Browser } from 'playwright-core';
import { beforeAll, expect, it } from 'vitest';
import { ending, folderWith, handOut, inPage, launched, settled, until, visit } from './browser.ts';

let browser: Browser;
ending(() => browser);

beforeAll(async () => {
  browser = await launched();
});

it('settles after a change that is refused while the one before it is played', async () => {
  const { page } = await visit(browser, handOut(folderWith('closed-hat'), 'closed-hat'));
  await until(page, 'watch.isChecked');
  await page.getByRole('button', { name: 'Open all' }).click();
  await page.getByLabel('shape decay', { exact: true }).waitFor();
  // Both before the engine has either.
  await inPage(
    page,
    `(() => {
      const field = document.querySelector('[aria-label="shape decay"]');
      for (const value of ['120 ms', '80 parsecs']) {
        field.value = value;
        field.dispatchEvent(new Event('input', { bubbles: true }));
        field.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }));
      }
    })()`,
  );
  await page.locator('.refusal:visible').waitFor();
  await settled(page);
  expect(await inPage(page, '[watch.asked, watch.wholeFor]')).toEqual([2, 2]);
});
