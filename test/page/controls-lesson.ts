/** What each control of the page of a lesson is for, and that the stage heard is the one that it names. */

import type { Locator, Page } from 'playwright-core';
import { inPage } from './browser.ts';
import { type Row, seen } from './controls.ts';
import { clipAfter, documentRows, status } from './controls-comparison.ts';

/** The next source is started too late: a moment goes by between the reading of the clock and its start. */
const SLOW = `{
  const { start } = AudioBufferSourceNode.prototype;
  AudioBufferSourceNode.prototype.start = function (...when) {
    AudioBufferSourceNode.prototype.start = start;
    for (const end = performance.now() + 60; performance.now() < end; );
    start.apply(this, when);
  };
}`;

export function lessonTable(page: Page): readonly Row[] {
  const play = page.locator('.play');
  const words = (): Promise<string | null> => play.textContent();
  const stopped = async (): Promise<void> => {
    if ((await words()) === 'Stop') await play.click();
    await seen('Play', words, (now) => now === 'Play');
  };
  const says = (message: string): Promise<void> =>
    seen(
      message,
      () => status(page),
      (now) => now === message,
    );
  const hears = page.getByRole('button', { name: /^Hear / });
  const offset = (): Promise<number> => inPage(page, 'watch.starts.at(-1).offset');
  /** Ticks a box for as long as something is tried. */
  const ticked = async (box: Locator, act: () => Promise<void>): Promise<void> => {
    await box.check();
    await act();
    await box.uncheck();
    await stopped();
  };

  return [
    {
      role: 'button',
      name: /^(Play|Stop)$/,
      reveals: true,
      press: async () => {
        await stopped();
        await clipAfter(page, () => play.click());
        await seen('Stop', words, (now) => now === 'Stop');
        await play.click();
        await says('Stopped.');
      },
    },
    {
      role: 'button',
      name: /^Hear \d+\. /,
      press: async (at, { name }) => {
        await stopped();
        await clipAfter(page, () => at.click());
        // A stage starts at its start, and says which it is.
        if ((await offset()) !== 0) throw new Error(`it sounds from ${await offset()} s on`);
        await says(`Sounding: ${name.replace('Hear ', '')}.`);
        await at.click();
        await says('Stopped.');
        // Nor does it begin without its first moments where the machine was too slow to start it in time.
        await inPage(page, SLOW);
        await clipAfter(page, () => at.click());
        if ((await offset()) !== 0) throw new Error(`late, it sounds from ${await offset()} s on`);
        await at.click();
        await says('Stopped.');
      },
    },
    {
      role: 'slider',
      name: /^Place in the loop$/,
      press: async (at) => {
        await stopped();
        await at.press('End');
        await clipAfter(page, () => play.click());
        if (!((await offset()) > 0)) throw new Error('it sounds from the start');
        await stopped();
      },
    },
    {
      role: 'slider',
      name: /^Volume$/,
      press: async (at) => {
        for (const [key, value] of [
          ['Home', '-60'],
          ['End', '0'],
        ] as const) {
          await at.press(key);
          await seen(
            value,
            () => at.inputValue(),
            (now) => now === value,
          );
        }
        await at.fill('-30');
      },
    },
    {
      role: 'checkbox',
      name: /^A stage again and again$/,
      press: async (at) => {
        const loops = (): Promise<boolean> => inPage(page, 'watch.loops.at(-1)');
        await stopped();
        await clipAfter(page, () => hears.first().click());
        if (await loops()) throw new Error('it goes round without the tick');
        await stopped();
        await ticked(at, async () => {
          await clipAfter(page, () => hears.first().click());
          if (!(await loops())) throw new Error('it ends at its end');
        });
      },
    },
    {
      role: 'checkbox',
      name: /^One stage after the other$/,
      press: async (at) => {
        await stopped();
        const last = await hears.count();
        const name = async (index: number): Promise<string> =>
          ((await hears.nth(index).getAttribute('aria-label')) ?? '').replace('Hear ', '');
        await ticked(at, async () => {
          // The last but one, and then what follows it by itself.
          await hears.nth(last - 2).click();
          await says(`Sounding: ${await name(last - 2)}.`);
          await says(`Sounding: ${await name(last - 1)}.`);
        });
      },
    },
    {
      role: 'checkbox',
      name: /^Keys:?$/,
      press: async (at) => {
        await stopped();
        await at.uncheck();
        await page.locator('h1').click();
        await page.keyboard.press('1');
        if ((await words()) !== 'Play') throw new Error('1 plays without keys');
        await at.check();
        await page.locator('h1').click();
        await clipAfter(page, () => page.keyboard.press('2'));
        await says(
          `Sounding: ${await page
            .locator('#stage-2')
            .textContent()
            .then((t) => `2. ${t}`)}.`,
        );
        await page.keyboard.press('Space');
        await says('Stopped.');
      },
    },
    ...documentRows(),
  ];
}
