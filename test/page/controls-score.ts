// What the controls of the song and of the patterns are for, and the visible effect of each.

import type { Page } from 'playwright-core';
import { inPage } from './browser.ts';
import { type Row, refused, seen } from './controls.ts';

export interface Score {
  readonly page: Page;
  readonly undo: () => Promise<void>;
}

/** One value that can be typed for each word, and none of which the example has. */
const VALUES: Readonly<Record<string, string>> = {
  tempo: '101 bpm',
  swing: '57 %',
  chance: '33 %',
  flam: '11 ms',
  clock: '3 per quarter',
  gate: '44 %',
  'steps-per-quarter': '3',
  length: '12',
  repeats: '2',
};

/** The rows of a song of several entries, the first of which is chosen. */
export function scoreRows({ page, undo }: Score): readonly Row[] {
  const song = (): Promise<string> =>
    page
      .locator('.entries [role=option]')
      .allTextContents()
      .then((all) => all.join('\n'));
  const starts = (): Promise<number> => inPage<number>(page, 'watch.asked');
  /** A change of the song, and back. */
  const changes = (role: Row['role'], name: RegExp): Row => ({
    role,
    name,
    press: async (at) => {
      const before = await song();
      await at.click();
      await seen('another song', song, (now) => now !== before);
      await undo();
      await seen('the song', song, (now) => now === before);
    },
  });
  /** A place that goes round, and back. */
  const plays = (name: RegExp): Row => ({
    role: 'button',
    name,
    press: async (at) => {
      const before = await starts();
      await at.click();
      await seen(
        'it chosen',
        () => at.getAttribute('aria-pressed'),
        (now) => now === 'true',
      );
      await seen('a request', starts, (now) => now > before);
      await at.click();
      await seen(
        'the song again',
        () => at.getAttribute('aria-pressed'),
        (now) => now === 'false',
      );
    },
  });
  return [
    {
      role: 'listbox',
      name: /^Song of \S+ /,
      press: async (at) => {
        const chosen = (): Promise<string> =>
          page.locator('.entries [aria-selected=true] .number').first().textContent().then(String);
        await at.press('End');
        await seen('the last entry', chosen, (now) => now === '2');
        await at.press('ArrowUp');
        await seen('the first entry', chosen, (now) => now === '1');
        const before = await song();
        // Nothing is above the first.
        await at.press('Alt+ArrowUp');
        await at.press('Delete');
        await seen('one entry', song, (now) => now !== before);
        await undo();
        await seen('the song', song, (now) => now === before);
        await at.press('Home');
      },
    },
    changes('button', /^Add after$/),
    changes('button', /^Take out$/),
    {
      // The example's two entries are one pattern: what moves is the one that plays twice.
      role: 'button',
      name: /^(Up|Down)$/,
      press: async (at, { name }) => {
        const isDown = name === 'Down';
        const before = await song();
        if (!isDown) await page.getByRole('listbox').press('End');
        const repeats = page.getByLabel(/^Entry \d+: repeats$/);
        await repeats.fill('2');
        await repeats.press('Enter');
        await seen('an entry twice', song, (now) => now !== before);
        const twice = await song();
        await at.click();
        await seen('another order', song, (now) => now !== twice);
        await undo();
        await undo();
        await seen('the song', song, (now) => now === before);
        await page.getByRole('listbox').press('Home');
      },
    },
    {
      role: 'combobox',
      name: /^Entry \d+: pattern$/,
      press: async (at) => {
        const options = await at.locator('option').allTextContents();
        if (!options.includes(await at.inputValue())) throw new Error('its pattern is no choice');
      },
    },
    plays(/^Loop it$/),
    plays(/^Begin with it$/),
    plays(/^Loop \S+ alone$/),
    {
      role: 'textbox',
      name: /^First bar to play$/,
      reveals: true,
      press: async (at) => {
        const refusal = page.locator('.from-bar .refusal');
        for (const bad of ['0', '3', 'x', '1e9']) {
          await at.fill(bad);
          await at.press('Enter');
          await seen(
            'a refusal',
            () => refusal.allTextContents(),
            ([now]) => /from 1 to 2/.test(now ?? ''),
          );
          await at.press('Escape');
        }
        const before = await starts();
        await at.fill('2');
        await at.press('Enter');
        await seen('a request', starts, (now) => now > before);
        await seen(
          'what plays',
          () => page.locator('.stretches').textContent(),
          (now) => /^Bar 2 of the song plays/.test(now ?? ''),
        );
      },
    },
    {
      // The song is too short for bars after; a long one has a test of its own.
      role: 'button',
      name: /^Bars (before|after)$/,
      press: async (at) => {
        await at.click();
        await seen(
          'the song',
          () => page.locator('.stretches').count(),
          (now) => now === 0,
        );
      },
    },
    {
      role: 'DisclosureTriangle',
      name: /^Other values of (entry )?\S+/,
      reveals: true,
      press: async (at) => {
        await at.click();
        await at.locator('xpath=..').getByRole('textbox').first().waitFor();
      },
    },
    {
      role: 'textbox',
      name: /: [\w-]+$/,
      press: async (at, { name }) => {
        const before = await at.inputValue();
        await refused(page, at);
        await at.press('Escape');
        const value = VALUES[/: ([\w-]+)$/.exec(name)?.[1] ?? ''];
        if (value === undefined) throw new Error('there is nothing to type');
        await at.fill(value);
        await at.press('Enter');
        await seen(
          value,
          () => at.inputValue(),
          (now) => now === value,
        );
        await undo();
        await seen(
          'the value',
          () => at.inputValue(),
          (now) => now === before,
        );
      },
    },
  ];
}
