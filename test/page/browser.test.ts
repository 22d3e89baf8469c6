// The waiting in tests of pages: a refused request must not hide that the one before it is still played.

import { expect, it } from 'vitest';
import { browsing, handOutOf, inPage, settled, until } from './browser.ts';

const { visit } = browsing();

it('settles after a change that is refused while the one before it is played', async () => {
  const { page } = await visit(handOutOf('closed-hat'));
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
