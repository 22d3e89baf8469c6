/** What each control of patching along is for: its dialog is tested by itself, since it blocks the rest of the page. */

import type { Page } from 'playwright-core';
import { inPage } from './browser.ts';
import { Controls, type Row, seen } from './controls.ts';

/** Opens the dialog, uses all that is in it, at a cable without sound and at one with it, and closes it. */
export async function useAlong(page: Page): Promise<void> {
  const wrong = await new Controls(page).press(alongTable(page));
  if (wrong.length > 0) throw new Error(wrong.join('\n'));
  await page.getByRole('button', { name: 'Close', exact: true }).click();
  await seen(
    'no dialog',
    () => page.locator('dialog').count(),
    (now) => now === 0,
  );
}

function alongTable(page: Page): readonly Row[] {
  // What is below has controls of the same names.
  const dialog = page.locator('dialog');
  const number = async (): Promise<number> =>
    Number.parseInt((await page.locator('.along-number').textContent()) ?? '', 10);
  const at = (wanted: number): Promise<void> =>
    seen(`cable ${wanted}`, number, (now) => now === wanted);
  const go = async (wanted: number): Promise<void> => {
    await dialog.getByRole('combobox').selectOption({ index: wanted - 1 });
    await at(wanted);
  };
  const ticks = (): Promise<number> =>
    inPage<number>(page, "document.querySelectorAll('input[data-cable]:checked').length");
  const ticked = (count: number): Promise<void> =>
    seen(`${count} ticks in the list`, ticks, (now) => now === count);
  const button = (name: string) => dialog.getByRole('button', { name, exact: true });
  const doneSecond = async (): Promise<void> => {
    await go(2);
    if ((await button('Done already: next').count()) > 0) return;
    await button('Done').click();
    await at(3);
    await go(2);
  };
  const doubted = async (): Promise<void> => {
    if ((await page.locator('.along-suspects').count()) === 0) await button('It is not so').click();
    await page.locator('.along-suspects').waitFor();
  };
  return [
    {
      role: 'combobox',
      name: /^Cable$/,
      reveals: true,
      press: async () => {
        await go(await dialog.locator('option').count());
        // The last brings the sound to the output.
        await button('Play').waitFor();
      },
    },
    {
      role: 'button',
      name: /^(Play|Stop)$/,
      press: async () => {
        await go(10);
        const before = await inPage<number>(page, 'watch.starts.length');
        await button('Play').click();
        await seen(
          'a start',
          () => inPage<number>(page, 'watch.starts.length'),
          (now) => now > before,
        );
        await button('Stop').click();
        await button('Play').waitFor();
      },
    },
    {
      role: 'slider',
      name: /^Volume$/,
      press: async () => {
        await go(10);
        const volume = dialog.getByRole('slider');
        const before = await volume.inputValue();
        await volume.press('ArrowDown');
        await seen(
          'another volume',
          () => volume.inputValue(),
          (now) => Number(now) === Number(before) - 1,
        );
        await volume.press('ArrowUp');
      },
    },
    {
      role: 'button',
      name: /^Done$/,
      reveals: true,
      press: async () => {
        await go(2);
        await button('Done').click();
        await at(3);
        await ticked(1);
        await go(2);
      },
    },
    {
      role: 'button',
      name: /^Done already: next$/,
      press: async () => {
        await doneSecond();
        await button('Done already: next').click();
        await at(3);
      },
    },
    {
      role: 'button',
      name: /^Take the tick off$/,
      press: async () => {
        await doneSecond();
        const before = await ticks();
        await button('Take the tick off').click();
        await ticked(before - 1);
        // The dialog is drawn a frame after the list.
        await button('Done').waitFor();
        await at(2);
      },
    },
    {
      role: 'button',
      name: /^Take all ticks off$/,
      press: async () => {
        await doneSecond();
        await button('Take all ticks off').click();
        await ticked(0);
        await button('Done').waitFor();
      },
    },
    {
      role: 'button',
      name: /^Back$/,
      press: async () => {
        await go(2);
        await button('Back').click();
        await at(1);
      },
    },
    {
      role: 'button',
      name: /^Next$/,
      press: async () => {
        await go(1);
        await button('Next').click();
        await at(2);
      },
    },
    {
      role: 'button',
      name: /^It is not so$/,
      reveals: true,
      press: async () => {
        await doneSecond();
        await button('It is not so').click();
        await page.locator('.along-suspects tbody tr').first().waitFor();
        await button('It is not so').click();
        await seen(
          'no suspects',
          () => page.locator('.along-suspects').count(),
          (now) => now === 0,
        );
        await doubted();
      },
    },
    {
      role: 'DisclosureTriangle',
      name: /^Why$/,
      press: async () => {
        await doubted();
        const why = page.locator('.along-suspects details').first();
        await why.locator('summary').click();
        await seen(
          'the reason',
          () => why.getAttribute('open'),
          (now) => now !== null,
        );
      },
    },
    { role: 'dialog', name: /^Patch along$/, press: async () => undefined },
    // What takes the focus so that it can be read on from, and scrolled.
    {
      role: 'heading',
      name: /^What can be wrong/,
      press: async (head) => {
        await doubted();
        await head.focus();
      },
    },
    {
      role: 'group',
      name: /^What can be wrong$/,
      press: async (group) => {
        await doubted();
        await group.focus();
      },
    },
    // The test that walks over the controls presses it last.
    { role: 'button', name: /^Close$/, press: async () => undefined },
  ];
}
